package events

import "packwright/prep"

// RunOpened begins prep of q triaged units of one tote at one bench by one
// recipe. The units stay in the tote until they are finished.
type RunOpened struct {
	Run      string `json:"run"`
	Tote     string `json:"tote"`
	Lot      string `json:"lot"`
	Item     string `json:"item"`   // what is made: the lot's item, or a bundle's
	Q        int    `json:"q"`      // units taken in hand
	Recipe   string `json:"recipe"` // the recipe's name at rules_rev
	RulesRev int    `json:"rules_rev"`
	Clear    string `json:"bench_clear"` // yes, override; unasked where a house has no explicit runs
	ClearBy  string `json:"clear_by,omitempty"`
	Lead     string `json:"lead,omitempty"` // who stood by for a badge not cleared yet
}

// RunPaused and RunResumed frame time that is nobody's work.
type RunPaused struct {
	Run    string `json:"run"`
	Reason string `json:"reason,omitempty"`
}

// RunResumed ends a pause.
type RunResumed struct {
	Run string `json:"run"`
}

// RunHandedOver gives a run to another badge or bench.
type RunHandedOver struct {
	Run     string `json:"run"`
	From    string `json:"from"`
	To      string `json:"to"`       // station
	ToBadge string `json:"to_badge"` // who has it now
}

// RunClosed balances pieces and labels.
type RunClosed struct {
	Run      string       `json:"run"`
	In       int          `json:"in"`
	Made     int          `json:"made"`
	Used     int          `json:"used"` // made, or for a bundle the components consumed
	Spoiled  int          `json:"spoiled"`
	Returned int          `json:"returned"`
	Labels   LabelBalance `json:"labels,omitzero"`
	Balance  int          `json:"balance"` // marks printed − used − spoiled − returned; not 0 only under override, or where the house does not ask
	IdleS    int          `json:"idle_s,omitempty"`
}

// LabelBalance accounts for the numbered labels of a run.
type LabelBalance struct {
	Printed  int `json:"printed"`
	Used     int `json:"used"`
	Spoiled  int `json:"spoiled"`
	Returned int `json:"returned"`
}

// LabelKind names a printed label.
type LabelKind string

// The labels of the floor.
const (
	ItemLabel    LabelKind = "item"
	KeepSealed   LabelKind = "keep-sealed"
	SoldAsOne    LabelKind = "sold-as-one"
	BagWarning   LabelKind = "warning"
	CartonLabel  LabelKind = "carton"
	TeamLiftMark LabelKind = "team-lift"
)

// LabelsPrinted reserves marks From..To when the label carries them; a carton label names its carton.
type LabelsPrinted struct {
	Run      string    `json:"run,omitempty"`
	Carton   string    `json:"carton,omitempty"`
	Kind     LabelKind `json:"kind"`
	N        int       `json:"n"`
	From     prep.Mark `json:"marks_from,omitempty"`
	To       prep.Mark `json:"marks_to,omitempty"`
	Printer  string    `json:"printer,omitempty"`
	Template int       `json:"template_rev,omitempty"`
}

// LabelsLive: the first and last label of a range were scanned, so paper and record agree.
type LabelsLive struct {
	Run  string    `json:"run"`
	From prep.Mark `json:"from"`
	To   prep.Mark `json:"to"`
}

// LabelsSpoiled takes labels out of the balance: jammed, torn, or left over and destroyed.
type LabelsSpoiled struct {
	Run  string    `json:"run"`
	Kind LabelKind `json:"kind"`
	N    int       `json:"n"`
	From prep.Mark `json:"from,omitempty"`
	To   prep.Mark `json:"to,omitempty"`
	Why  string    `json:"why,omitempty"`
}

// MarkVoided cancels a mark. Its unit waits at the same place in the lot's unmarked cell.
type MarkVoided struct {
	Mark   prep.Mark `json:"mark"`
	Lot    string    `json:"lot"`
	Item   string    `json:"item"`
	Stage  Stage     `json:"stage"` // the stage the unit had
	Place  string    `json:"place"`
	Reason string    `json:"reason"`
}

// UnitMarked gives an unmarked unit of a lot a new mark, at stage prepped.
// Replaces is the label that sat on the box before: lineage of the label, which
// may lead to another lot; the goods' own origin is Lot and Run.
type UnitMarked struct {
	Mark     prep.Mark `json:"mark"`
	Lot      string    `json:"lot"`
	Item     string    `json:"item"`
	Run      string    `json:"run,omitempty"`
	From     string    `json:"from"` // place of the unmarked unit
	To       string    `json:"to"`
	How      string    `json:"how"` // print, replace
	Replaces prep.Mark `json:"replaces,omitempty"`
}

// MaterialDrawn binds a lot of material to a run from here on. Q is in the material's unit; 0: not counted.
type MaterialDrawn struct {
	Run      string `json:"run"`
	Material string `json:"material"`
	MatLot   string `json:"matlot"`
	Q        int    `json:"q,omitempty"`
}

// MaterialSwapped: the first AtUnit units used From, the rest use To.
type MaterialSwapped struct {
	Run      string `json:"run"`
	Material string `json:"material"`
	From     string `json:"from"`
	To       string `json:"to"`
	AtUnit   int    `json:"at_unit"`
}

// StepChecked is a person's word that a step was done (ok) or not.
type StepChecked struct {
	Run   string    `json:"run"`
	Step  string    `json:"step"`
	Mark  prep.Mark `json:"mark,omitempty"`
	N     int       `json:"n,omitempty"`
	OK    bool      `json:"ok"`
	Value string    `json:"value,omitempty"`
}

// UnitsPrepped moves q units to stage prepped; Marks binds them to the run, one each.
type UnitsPrepped struct {
	Run    string     `json:"run"`
	Lot    string     `json:"lot"`
	Item   string     `json:"item"`
	From   string     `json:"from"` // place at stage triaged
	To     string     `json:"to"`
	Q      int        `json:"q"`
	Marks  prep.Marks `json:"marks,omitempty"`
	Recipe string     `json:"recipe"`
	Pair   bool       `json:"pair_checked,omitempty"`
}

// UnitSpoiled says without blame that units were damaged here.
type UnitSpoiled struct {
	Run     string    `json:"run"`
	Lot     string    `json:"lot"`
	Item    string    `json:"item"`
	Stage   Stage     `json:"stage"`
	From    string    `json:"from"`
	To      string    `json:"to,omitempty"`
	Hold    string    `json:"hold,omitempty"` // the hold's number, for verdict hold
	Q       int       `json:"q"`
	Mark    prep.Mark `json:"mark,omitempty"`
	Cause   string    `json:"cause"` // tear, heat, stain, crush, drop, other
	Step    string    `json:"step,omitempty"`
	Verdict Verdict   `json:"verdict"` // hold, divert or writeoff
}

// Component is what a bundle consumes of one lot.
type Component struct {
	Lot   string     `json:"lot"`
	Item  string     `json:"item"`
	Stage Stage      `json:"stage"`
	From  string     `json:"from"`
	Q     int        `json:"q"`
	Marks prep.Marks `json:"marks,omitempty"`
}

// BundleBuilt consumes components and makes Q units of Item, a lot of their own
// whose received is what was made; they stand at stage triaged at the bench.
type BundleBuilt struct {
	Run        string      `json:"run"`
	Lot        string      `json:"lot"`
	Item       string      `json:"item"`
	Owner      string      `json:"owner"`
	Q          int         `json:"q"`
	To         string      `json:"to"`
	Components []Component `json:"components"`
}
