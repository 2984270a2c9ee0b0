package events

import "packwright/prep"

// SupplyReceived puts a roll, pack or bottle of material into the house. It may
// come in parts. Cost is for all of Q, as it stands on the bill: the price of
// one unit is worked out when it is used, so nothing is rounded twice.
type SupplyReceived struct {
	Material string     `json:"material"`
	MatLot   string     `json:"matlot"`
	Q        prep.Fixed `json:"q"` // in Unit
	Unit     string     `json:"unit"`
	Cost     prep.Money `json:"cost_minor"`
}

// SupplyIssued hands some of a lot of material out to a bench.
type SupplyIssued struct {
	MatLot   string     `json:"matlot"`
	Material string     `json:"material"`
	Station  string     `json:"station"`
	Q        prep.Fixed `json:"q"`
}

// SupplyCounted says how much of a lot somebody found, store and benches
// together. From here on that is what is on hand; 0 ends the lot.
type SupplyCounted struct {
	MatLot   string     `json:"matlot"`
	Material string     `json:"material"`
	Q        prep.Fixed `json:"q"`
	By       string     `json:"by"`
}

// SupplyLow says once that a material has fallen to its reorder point. Days is
// how long it lasts at the use that the house's policy names; none when it
// names no use.
type SupplyLow struct {
	Material string      `json:"material"`
	OnHand   prep.Fixed  `json:"on_hand"` // of lots that are not blocked
	Reorder  prep.Fixed  `json:"reorder"`
	Days     *prep.Fixed `json:"days,omitempty"`
}

// SupplySubstituted puts another material in the place of one of the recipe's,
// for one run, after AtUnit units.
type SupplySubstituted struct {
	Run      string `json:"run"`
	Material string `json:"material"`       // of the recipe
	By       string `json:"by_material"`    // what is used in its place; the material itself ends a substitution
	Was      string `json:"was,omitempty"`  // what was in its place before, when not itself
	From     string `json:"from,omitempty"` // the lot in use before
	MatLot   string `json:"matlot"`
	AtUnit   int    `json:"at_unit"`
	Allowed  string `json:"allowed_by"` // recipe, rulebook, or the number of the override
}

// Touched is a run that used a blocked lot of material, with the units made with it.
type Touched struct {
	Run   string `json:"run"`
	Lot   string `json:"lot"`
	Item  string `json:"item"`
	Units int    `json:"units"`
	Open  bool   `json:"open,omitempty"`
}

// MatLotBlocked stops a lot of material from being used. Runs are those the
// floor still has goods or work of, in the order of their names.
type MatLotBlocked struct {
	MatLot   string    `json:"matlot"`
	Material string    `json:"material"`
	Reason   string    `json:"reason"`
	Runs     []Touched `json:"runs,omitempty"`
}

// RateKind says what a rate is for.
type RateKind string

// The rates.
const (
	LabourRate   RateKind = "labour"   // of an hour's work
	MaterialRate RateKind = "material" // of a material for which no bill is known
	TariffRate   RateKind = "tariff"   // what an owner or destination is charged or charges
)

// RateSet is what something costs from a moment on.
type RateSet struct {
	Kind  RateKind   `json:"kind"`
	Key   string     `json:"key"`
	Minor prep.Money `json:"minor"`
	Per   string     `json:"per"` // hour; a material's unit; unit, carton, lot or day of a tariff
	From  Time       `json:"from"`
}
