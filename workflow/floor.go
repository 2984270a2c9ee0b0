package workflow

import (
	"maps"
	"slices"

	"packwright/events"
	"packwright/prep"
)

// Floor is what is true now. Every field is rebuilt by Apply from the log, or
// read from a snapshot; maps are by the thing's own code.
type Floor struct {
	ID       string      `json:"id"`
	Owner    string      `json:"owner"` // the owner's badge
	Currency string      `json:"currency"`
	Epoch    string      `json:"epoch"`
	Seq      events.Seq  `json:"seq"` // last event applied
	Recorded events.Time `json:"recorded,omitzero"`

	Items    map[string]*prep.Item  `json:"items"`
	Codes    map[prep.GTIN]string   `json:"codes"` // 14 digits → item
	Books    map[int]*prep.Rulebook `json:"books"`
	RulesRev int                    `json:"rules_rev"`
	Blocked  []BlockedRules         `json:"blocked,omitempty"`

	Badges   map[string]*Badge   `json:"badges"`
	Stations map[string]*Station `json:"stations"`
	Scales   map[string]*Scale   `json:"scales"`

	Lots    map[string]*Lot    `json:"lots"`
	Totes   map[string]*Tote   `json:"totes"`
	Holds   map[string]*Hold   `json:"holds"`
	Runs    map[string]*Run    `json:"runs"`
	Cartons map[string]*Carton `json:"cartons"`
	Loads   map[string]*Load   `json:"loads"`
	Plans   map[string]*Plan   `json:"plans"`

	Proposals map[string]*Proposal `json:"proposals"`
	Matters   map[string]*Matter   `json:"matters"` // mismatches, until their goods have left
	Overrides map[string]*Override `json:"overrides"`
	Claims    map[string]*Claim    `json:"claims"` // not closed

	MatLots map[string]*MatLot    `json:"matlots"` // lots of material
	Low     map[string]prep.Fixed `json:"low"`     // materials said to be low, at which reorder point
	Rates   map[string]Rate       `json:"rates"`   // kind/key → the last one set

	Ledger  *Ledger                  `json:"ledger"`
	Units   map[prep.Mark]*Unit      `json:"units"`   // marked units on the floor
	Voided  map[prep.Mark]VoidedMark `json:"voided"`  // cancelled marks
	Printed MarkSet                  `json:"printed"` // marks that have ever been printed
	Spent   MarkSet                  `json:"spent"`   // marks that have left the floor
	Seals   map[string]string        `json:"seals"`   // seal number → carton, for ever
	SSCCs   map[prep.SSCC]string     `json:"sscc"`    // carton code → carton, for ever
	Past    map[string]bool          `json:"past"`    // codes of lots, runs, cartons, loads that are over; never used again

	Next Counters `json:"next"`

	policy  *Policy
	recipes map[recipeKey]*prep.Recipe // computed once per item and revision
	lines   map[string]linesAt         // carton → its lines, computed once per revision
}

// Counters number what the floor names itself.
type Counters struct {
	Mark                                                  prep.Mark
	Run, Session, Hold, Matter, Override, Proposal, Claim int
}

// BlockedRules says which prepped units may not be placed.
type BlockedRules struct {
	Rev    int    `json:"rev"`
	Recipe string `json:"recipe,omitempty"` // empty: all of the revision
	Reason string `json:"reason"`
}

// Badge is a person's card.
type Badge struct {
	Badge   string        `json:"badge"`
	Roles   []events.Role `json:"roles"`
	Recipes []string      `json:"recipes,omitempty"`
	OwnerOf string        `json:"owner_of,omitempty"`
	Licence string        `json:"licence,omitempty"`
	Retired bool          `json:"retired,omitempty"`
	Station string        `json:"station,omitempty"` // where it is signed in
}

// Station is a bench, the board, or any other door commands come through.
type Station struct {
	Name     string                  `json:"name"`
	Aside    string                  `json:"aside"`
	Sessions []Session               `json:"sessions,omitempty"` // the bench's own, then helpers
	Heard    events.Time             `json:"heard,omitzero"`     // recorded time of the last kept command
	Quiet    bool                    `json:"quiet,omitempty"`
	SkewMS   int64                   `json:"skew_ms,omitempty"` // its clock against the writer's, as last noted
	Epochs   map[string]*KeptNumbers `json:"epochs,omitempty"`
	Recent   []Recent                `json:"recent,omitempty"`   // last commands kept, oldest first, at most recentKept
	Refused  map[Code]events.Time    `json:"refused,omitzero"`   // when a ScanRefused of this code was last written
	LastRun  string                  `json:"last_run,omitempty"` // last run closed here with labels out of balance
}

// recentKept is how many answered commands a station's record remembers in full.
const recentKept = 64

// Recent is a kept command: enough to answer a retry, and to take it back.
type Recent struct {
	ID      string      `json:"id"`
	Sum     string      `json:"sum"`
	Type    events.Type `json:"type"` // its first event
	Seq     events.Seq  `json:"seq"`
	At      events.Time `json:"at"`
	Session string      `json:"session,omitempty"`
	Badge   string      `json:"badge,omitempty"`
	Undo    []Undo      `json:"undo,omitempty"` // how to take it back, event by event; none: cannot be
	Taken   bool        `json:"taken,omitempty"`
}

// Undo remembers what the reverse of one event needs.
type Undo struct {
	Of      events.Type `json:"of"`
	Carton  string      `json:"carton,omitempty"`
	Run     string      `json:"run,omitempty"`
	Lot     string      `json:"lot,omitempty"`
	Item    string      `json:"item,omitempty"`
	Place   string      `json:"place,omitempty"` // where the goods were before
	Step    string      `json:"step,omitempty"`
	Q       int         `json:"q,omitempty"`
	Marks   prep.Marks  `json:"marks,omitempty"`
	Serials []string    `json:"serials,omitempty"`
}

// Session is a badge at work at a station.
type Session struct {
	ID    string `json:"id"`
	Badge string `json:"badge"`
	Helps string `json:"helps,omitempty"`
}

// Scale remembers its last check.
type Scale struct {
	Checked events.Time `json:"checked"`
	OK      bool        `json:"ok"`
	Ref     string      `json:"ref"` // place of that event
}

// Lot is one item from one source for one owner.
type Lot struct {
	Lot      string     `json:"lot"`
	Kind     string     `json:"kind"`
	Item     string     `json:"item"`
	Owner    string     `json:"owner"`
	UnitCost prep.Money `json:"unit_cost,omitempty"`
	Origin   prep.Mark  `json:"origin,omitempty"`
	Expected int        `json:"expected"`
	Received int        `json:"received"`
	Closed   bool       `json:"closed,omitempty"` // intake is over
	Batch    string     `json:"batch,omitempty"`
	Expiry   string     `json:"expiry,omitempty"`
	Leaked   bool       `json:"leaked,omitempty"` // a piece leaked or failed a sample: its lot-mates are looked at one by one
}

// Tote is a container with a permanent code: one lot, one stage. Runs lists the
// runs its prepped units come from.
type Tote struct {
	Tote  string   `json:"tote"`
	Stand string   `json:"stand,omitempty"` // where the tote is
	Runs  []string `json:"runs,omitempty"`
}

// Hold is a set of units waiting in an aside tote.
type Hold struct {
	Hold   string       `json:"hold"`
	Lot    string       `json:"lot"`
	Item   string       `json:"item"`
	Stage  events.Stage `json:"stage"` // where they return to
	From   string       `json:"from"`
	Place  string       `json:"place"`
	Q      int          `json:"q"`
	Marks  prep.Marks   `json:"marks,omitempty"`
	Runs   []string     `json:"runs,omitempty"` // runs the prepped ones may come from
	Rule   string       `json:"rule,omitempty"`
	Reason string       `json:"reason"`
	Hazard bool         `json:"hazard,omitempty"`
}

// RunState is open, paused or closed.
type RunState string

// States of a run.
const (
	RunOpen   RunState = "open"
	RunPaused RunState = "paused"
	RunClosed RunState = "closed"
)

// Run is one tote, one item, one recipe, one bench, one packer, counted labels.
// A closed run stays while its units are on the floor.
type Run struct {
	Run        string                   `json:"run"`
	Tote       string                   `json:"tote"`
	Lot        string                   `json:"lot"`
	Item       string                   `json:"item"`          // what is made
	Q          int                      `json:"q"`             // pieces taken in hand; for a bundle, its parts
	Set        int                      `json:"set,omitempty"` // parts of one unit, when a bundle is made
	Station    string                   `json:"station"`
	Badge      string                   `json:"badge"`
	Recipe     string                   `json:"recipe"`
	Rev        int                      `json:"rev"`
	State      RunState                 `json:"state"`
	Stopped    bool                     `json:"stopped,omitempty"` // a rulebook in force at once ended it
	Opened     events.Time              `json:"opened"`
	PausedAt   events.Time              `json:"paused_at,omitzero"`
	Idle       int64                    `json:"idle_ms,omitempty"` // of all pauses so far
	Made       int                      `json:"made"`              // finished and good
	Lost       int                      `json:"lost,omitempty"`    // finished, and spoiled after
	Used       int                      `json:"used"`              // made, or for a bundle the parts consumed
	Spoiled    int                      `json:"spoiled"`
	Every      bool                     `json:"every,omitempty"`     // one of its lot leaked or failed a sample: samples are not enough
	Checked    map[string]StepCheck     `json:"checked,omitempty"`   // step → last word
	Materials  map[string]string        `json:"materials,omitempty"` // material → lot in use
	Since      map[string]int           `json:"since,omitempty"`     // material → units finished before that lot
	Instead    map[string]string        `json:"instead,omitempty"`   // material of the recipe → what is used in its place
	Printed    map[events.LabelKind]int `json:"printed,omitempty"`
	Marks      prep.Marks               `json:"marks,omitempty"` // reserved for it
	Live       prep.Marks               `json:"live,omitempty"`  // scanned, and on no unit yet
	UsedMarks  prep.Marks               `json:"used_marks,omitempty"`
	Torn       prep.Marks               `json:"torn,omitempty"` // spoiled labels
	Torns      map[events.LabelKind]int `json:"torns,omitempty"`
	LabelsBack int                      `json:"labels_back,omitempty"` // handed back at its close
	Out        string                   `json:"out,omitempty"`         // the tote finished units went to last
	Bundle     string                   `json:"bundle,omitempty"`      // the lot it makes
	Stand      string                   `json:"stand,omitempty"`       // where bundles stand until they are finished
}

// StepCheck is the last word on a step of a run.
type StepCheck struct {
	OK    bool        `json:"ok"`
	All   bool        `json:"all,omitempty"` // said of the whole run
	N     int         `json:"n,omitempty"`   // else of so many units, those finished included
	At    events.Time `json:"at"`
	Value string      `json:"value,omitempty"`
}

// Unit is what is known of a marked unit beside its cell.
type Unit struct {
	Lot    string `json:"lot"`
	Run    string `json:"run"`
	Recipe string `json:"recipe"`
	Rev    int    `json:"rev"`
}

// VoidedMark says when a label was cancelled and what replaced it on the box.
type VoidedMark struct {
	At  events.Time `json:"at"`
	By  prep.Mark   `json:"by,omitempty"`
	Lot string      `json:"lot,omitempty"` // of the unit it was the mark of; empty: it was on none
	Run string      `json:"run,omitempty"`
}

// CartonState follows the carton through its day; blocked is a question open on it, not a state.
type CartonState string

// States of a carton.
const (
	CartonPlanned    CartonState = "planned"
	CartonOpen       CartonState = "open"
	CartonCounting   CartonState = "counting"
	CartonCounted    CartonState = "counted"
	CartonSealed     CartonState = "sealed"
	CartonDispatched CartonState = "dispatched"
	CartonVoid       CartonState = "void"
)

// Carton is what leaves. Contents are the ledger's cells at its code.
type Carton struct {
	Carton     string          `json:"carton"`
	Plan       string          `json:"plan"`
	Bench      string          `json:"bench,omitempty"` // owns it while open
	State      CartonState     `json:"state"`
	Box        string          `json:"box,omitempty"`
	Tare       prep.Mass       `json:"tare,omitempty"`
	Owner      string          `json:"owner,omitempty"` // of the goods in it
	Placers    []string        `json:"placers,omitempty"`
	Keyed      bool            `json:"keyed,omitempty"` // some placements said "n of the same": a hand count is due
	Runs       []string        `json:"runs,omitempty"`  // runs its units came from
	Count      *Count          `json:"count,omitempty"` // the last count since it was finished
	First      string          `json:"first_counter,omitempty"`
	FirstAt    events.Time     `json:"first_at,omitzero"`
	Agreed     bool            `json:"agreed,omitempty"` // two people counted the same since it was finished
	Tries      int             `json:"tries,omitempty"`
	Weight     *Weighing       `json:"weight,omitempty"` // the last reading since it was finished
	Cert       *Cert           `json:"cert,omitempty"`
	Label      bool            `json:"label,omitempty"` // carton label printed
	Lift       bool            `json:"lift,omitempty"`  // team-lift label printed
	Seal       string          `json:"seal,omitempty"`
	Code       prep.SSCC       `json:"code,omitempty"`
	Load       string          `json:"load,omitempty"`
	Changed    events.Time     `json:"changed,omitzero"` // its plan lines changed at
	ChangedRev int             `json:"changed_rev,omitempty"`
	FinishRev  int             `json:"finish_rev,omitempty"` // the plan's revision when it was finished
	Touched    events.Time     `json:"touched,omitzero"`     // last placement or take-out
	Serials    map[string]bool `json:"serials,omitempty"`
	Gone       []*Cell         `json:"gone,omitempty"` // what left with it, until its load is closed
}

// Count is a count not yet a certificate.
type Count struct {
	By       string             `json:"by"`
	ByPlacer bool               `json:"by_placer,omitempty"`
	Method   string             `json:"method"`
	Lines    []events.CountLine `json:"lines,omitempty"`
	Total    int                `json:"total"`
	At       events.Time        `json:"at"`
	Seq      events.Seq         `json:"seq"`
}

// Weighing is a reading since the carton was finished.
type Weighing struct {
	Gross    prep.Mass   `json:"gross"`
	Expected prep.Mass   `json:"expected"`
	SD       prep.Mass   `json:"sd"`
	Alarm    bool        `json:"alarm,omitempty"`
	Vouches  bool        `json:"vouches,omitempty"` // the scale can see one unit missing
	At       events.Time `json:"at"`
	Seq      events.Seq  `json:"seq"`
}

// Cert is a live count certificate.
type Cert struct {
	Rev   int         `json:"rev"`
	Tally string      `json:"tally"`
	Seq   events.Seq  `json:"seq"`
	At    events.Time `json:"at"`
}

// Load is what one truck takes.
type Load struct {
	Load    string      `json:"load"`
	Due     events.Time `json:"due"`
	Closed  bool        `json:"closed,omitempty"`
	Cartons []string    `json:"cartons,omitempty"`
}

// Plan is the shipment: which items in which carton.
type Plan struct {
	Plan       string            `json:"plan"`
	Rev        int               `json:"rev"`
	Policy     string            `json:"policy"`
	Lines      []events.PlanLine `json:"lines"` // in the order given
	Amended    events.Time       `json:"amended,omitzero"`
	AmendedSeq events.Seq        `json:"amended_seq,omitzero"`
	Dispatched int               `json:"dispatched,omitempty"` // units
	Sealed     int               `json:"sealed,omitempty"`     // units that left sealed
}

// Proposal is a change of plan that waits for answers.
type Proposal struct {
	Proposal string              `json:"proposal"`
	Plan     string              `json:"plan"`
	Changes  []events.PlanChange `json:"changes"`
	By       string              `json:"by"`
	Matter   string              `json:"mismatch,omitempty"`
	Approved map[string]string   `json:"approved,omitempty"` // owner → badge
	Last     events.Time         `json:"last,omitzero"`      // the last answer
	Answered events.Time         `json:"answered,omitzero"`  // approved in full, or declined
	Declined bool                `json:"declined,omitempty"`
}

// Matter is a mismatch until it is resolved.
type Matter struct {
	Matter   string         `json:"mismatch"`
	Kinds    []events.Kind  `json:"kinds"`  // the first, then symptoms
	Scopes   []events.Scope `json:"scopes"` // likewise
	Blocks   bool           `json:"blocks"`
	Raised   events.Time    `json:"raised"`
	TakenBy  string         `json:"taken_by,omitempty"`
	TakenAt  events.Time    `json:"taken_at,omitzero"`
	Fixed    events.Time    `json:"fixed,omitzero"`
	FixedSeq events.Seq     `json:"fixed_seq,omitzero"`
	FixedBy  string         `json:"fixed_by,omitempty"`
	Resolved events.Time    `json:"resolved,omitzero"`
	Residual prep.Mass      `json:"residual,omitempty"` // of its first weighing
}

// Override is leave to pass one gate in one scope until it expires.
type Override struct {
	Override string       `json:"override"`
	Scope    events.Scope `json:"scope"`
	Gate     string       `json:"gate"`
	By       string       `json:"by"`
	Second   string       `json:"second,omitempty"`
	Expires  events.Time  `json:"expires"`
	Granted  events.Time  `json:"granted"`
	Seq      events.Seq   `json:"seq"`
}

// Claim is a claim not closed yet.
type Claim struct {
	Claim   string `json:"claim"`
	Kind    string `json:"kind"`
	Traced  bool   `json:"traced,omitempty"`
	Decided bool   `json:"decided,omitempty"`
}

type recipeKey struct {
	item    string
	rev     int
	instead string // what is used in the place of what, when a run does
}

// NewFloor gives a floor before its first event. A nil policy means DefaultPolicy.
func NewFloor(p *Policy) *Floor {
	f := &Floor{
		Items: map[string]*prep.Item{}, Codes: map[prep.GTIN]string{}, Books: map[int]*prep.Rulebook{},
		Badges: map[string]*Badge{}, Stations: map[string]*Station{}, Scales: map[string]*Scale{},
		Lots: map[string]*Lot{}, Totes: map[string]*Tote{}, Holds: map[string]*Hold{}, Runs: map[string]*Run{},
		Cartons: map[string]*Carton{}, Loads: map[string]*Load{}, Plans: map[string]*Plan{},
		Proposals: map[string]*Proposal{}, Matters: map[string]*Matter{}, Overrides: map[string]*Override{}, Claims: map[string]*Claim{},
		MatLots: map[string]*MatLot{}, Low: map[string]prep.Fixed{}, Rates: map[string]Rate{},
		Ledger: NewLedger(), Units: map[prep.Mark]*Unit{}, Voided: map[prep.Mark]VoidedMark{},
		Seals: map[string]string{}, SSCCs: map[prep.SSCC]string{}, Past: map[string]bool{},
		Next: Counters{Mark: 1},
	}
	return f.under(p)
}

// under puts a floor read from a snapshot under a policy.
func (f *Floor) under(p *Policy) *Floor {
	if p == nil {
		p = DefaultPolicy()
	}
	f.policy, f.recipes, f.lines = p, map[recipeKey]*prep.Recipe{}, map[string]linesAt{}
	return f
}

// Policy gives the rules of this house.
func (f *Floor) Policy() *Policy { return f.policy }

// recipe gives what the rulebook of a revision says of an item.
func (f *Floor) recipe(item string, rev int) *prep.Recipe {
	k := recipeKey{item: item, rev: rev}
	if r, ok := f.recipes[k]; ok {
		return r
	}
	it, book := f.Items[item], f.Books[rev]
	if it == nil || book == nil {
		return nil
	}
	r := book.Recipe(*it)
	f.recipes[k] = &r
	return &r
}

// recipeOf gives what a run works by: the rulebook's recipe, or that with other
// materials in the place of some.
func (f *Floor) recipeOf(r *Run) *prep.Recipe {
	if len(r.Instead) == 0 {
		return f.recipe(r.Item, r.Rev)
	}
	return f.recipeWith(r, r.Instead)
}

// recipeWith gives what a run would work by with other materials.
func (f *Floor) recipeWith(r *Run, instead map[string]string) *prep.Recipe {
	k := recipeKey{item: r.Item, rev: r.Rev}
	for _, of := range slices.Sorted(maps.Keys(instead)) {
		k.instead += of + ">" + instead[of] + " "
	}
	if made, ok := f.recipes[k]; ok {
		return made
	}
	it, book := f.Items[r.Item], f.Books[r.Rev]
	if it == nil || book == nil {
		return nil
	}
	made := book.RecipeWith(*it, instead)
	f.recipes[k] = &made
	return &made
}

// matterOn gives the open mismatch that blocks a carton, or nil: the oldest first.
func (f *Floor) matterOn(carton string) *Matter {
	var found *Matter
	for _, m := range f.Matters {
		if !m.Blocks || !m.Resolved.IsZero() || !m.touches(carton) {
			continue
		}
		if found == nil || m.Raised.Before(found.Raised) || m.Raised == found.Raised && m.Matter < found.Matter {
			found = m
		}
	}
	return found
}

// touches says whether a mismatch is about a carton.
func (m *Matter) touches(carton string) bool {
	for _, s := range m.Scopes {
		if s.Carton == carton {
			return true
		}
	}
	return false
}
