package workflow

import (
	"packwright/events"
	"packwright/prep"
)

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
