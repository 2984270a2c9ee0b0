package workflow

import (
	"packwright/events"
	"packwright/prep"
)

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
