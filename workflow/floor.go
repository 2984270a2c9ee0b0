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

	Key      string `json:"key,omitempty"`       // public half of what signs the log's heads
	SignedTo uint64 `json:"signed_to,omitempty"` // frame of the newest signed head
	Due      bool   `json:"due,omitempty"`       // a head is to be signed,
	DueFrom  uint64 `json:"due_from,omitempty"`  // of this frame or a later one
	Day      string `json:"day,omitempty"`       // the last that was closed
	Eras     []Era  `json:"eras,omitempty"`      // after the first, which has no name

	Next Counters `json:"next"`

	policy  *Policy
	heads   Heads
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
