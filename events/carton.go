package events

import "packwright/prep"

// CartonOpened gives a planned carton to a bench.
type CartonOpened struct {
	Carton string    `json:"carton"`
	Plan   string    `json:"plan"`
	Rev    int       `json:"rev"`
	Box    string    `json:"box_material,omitempty"`
	MatLot string    `json:"matlot,omitempty"`
	Tare   prep.Mass `json:"tare_g"`
}

// UnitPlaced puts q prepped units into a carton. Run is named when the log knows it is one.
type UnitPlaced struct {
	Carton  string     `json:"carton"`
	Item    string     `json:"item"`
	Lot     string     `json:"lot"`
	Run     string     `json:"run,omitempty"`
	From    string     `json:"from"`
	Q       int        `json:"q"`
	Marks   prep.Marks `json:"marks,omitempty"`
	Serials []string   `json:"serials,omitempty"` // maker's own, AI (21)
	Pour    bool       `json:"pour,omitempty"`    // a whole tote at once
}

// UnitTakenOut takes q units out of a carton, back to stage prepped elsewhere.
type UnitTakenOut struct {
	Carton  string     `json:"carton"`
	Item    string     `json:"item"`
	Lot     string     `json:"lot"`
	To      string     `json:"to"`
	Q       int        `json:"q"`
	Marks   prep.Marks `json:"marks,omitempty"`
	Serials []string   `json:"serials,omitempty"` // maker's own, as placed
	Reason  string     `json:"reason"`
}

// CartonFinished begins counting: from here the bench is blind until its count is in.
type CartonFinished struct {
	Carton string `json:"carton"`
}

// Weights are the parts of a carton's gross that are not goods, and how surely
// they are known, as a house takes them to be.
type Weights struct {
	Packing   prep.Mass `json:"packing_g"`
	PackingSD prep.Mass `json:"packing_sd_g"`
	ScaleSD   prep.Mass `json:"scale_sd_g"`
	TareSD    prep.Mass `json:"tare_sd_g"`
}

// DefaultWeights holds where the house says nothing else: starting values of this project.
var DefaultWeights = Weights{Packing: 60 * prep.Gram, PackingSD: 5 * prep.Gram, ScaleSD: 2 * prep.Gram, TareSD: 4 * prep.Gram}

// CartonWeighed keeps a reading and what it meant by the plan then in force.
// Z is (gross − expected)/sd; Miss the chance that one lightest unit missing would go unnoticed.
type CartonWeighed struct {
	Carton   string     `json:"carton"`
	Gross    prep.Mass  `json:"gross_g"`
	Scale    string     `json:"scale"`
	Stable   bool       `json:"stable"`
	Check    string     `json:"check_ref,omitempty"` // when that scale was last checked
	Expected prep.Mass  `json:"expected_g"`
	SD       prep.Mass  `json:"sd_g"`
	Z        prep.Fixed `json:"z"`
	Miss     prep.Fixed `json:"miss"`
	Alarm    bool       `json:"alarm,omitempty"`
	House    *Weights   `json:"house,omitempty"` // what was assumed, when not DefaultWeights
}

// CountLine is one line of a count or of a certificate.
type CountLine struct {
	Item string `json:"item"`
	Q    int    `json:"q"`
}

// CountEntered is what a person counted without being shown a number.
type CountEntered struct {
	Carton   string      `json:"carton"`
	By       string      `json:"by"`
	ByPlacer bool        `json:"by_placer,omitempty"`
	Method   string      `json:"method"`            // hand, weight
	PWrong   prep.Fixed  `json:"p_wrong,omitempty"` // for a count by weight
	Lines    []CountLine `json:"lines,omitempty"`   // or
	Total    int         `json:"total"`             // the sum, always
	Attempt  int         `json:"attempt"`
}

// CountAccepted is the count certificate; the carton's units become contents-counted.
type CountAccepted struct {
	Carton   string      `json:"carton"`
	Rev      int         `json:"rev"`
	Tally    string      `json:"tally_digest"`
	Lines    []CountLine `json:"lines"`
	CountBy  string      `json:"count_by,omitempty"`
	ByPlacer bool        `json:"by_placer,omitempty"`
	Waiver   string      `json:"waiver,omitempty"`     // why no hand count was asked
	Weight   string      `json:"weight_ref,omitempty"` // place of the reading that vouches
}

// CountVoided ends a certificate, or a count not yet accepted; units go back to prepped in the carton.
type CountVoided struct {
	Carton string `json:"carton"`
	Why    string `json:"why"`
}

// CartonSealed closes a carton under a numbered seal.
type CartonSealed struct {
	Carton string    `json:"carton"`
	Seal   string    `json:"seal_no"`
	Code   prep.SSCC `json:"carton_code"`
	Gross  prep.Mass `json:"gross_g"`
}

// CartonReopened breaks a seal; the units go back to prepped in the carton.
type CartonReopened struct {
	Carton string `json:"carton"`
	Seal   string `json:"old_seal"`
	Reason string `json:"reason"`
}

// CartonVoided ends an empty carton.
type CartonVoided struct {
	Carton string `json:"carton"`
	Reason string `json:"reason"`
}

// CartonHandedOver gives an open carton to another bench.
type CartonHandedOver struct {
	Carton string `json:"carton"`
	From   string `json:"from"`
	To     string `json:"to"`
}

// LoadOpened begins a load: what one truck takes.
type LoadOpened struct {
	Load string `json:"load"`
	Due  Time   `json:"due"`
}

// CartonDispatched puts a sealed carton on a load; its units have left.
type CartonDispatched struct {
	Carton string `json:"carton"`
	Load   string `json:"load"`
	Seal   string `json:"seal_no_seen"`
}

// DispatchCancelled brings a carton back before the load has left.
type DispatchCancelled struct {
	Carton string `json:"carton"`
	Load   string `json:"load"`
	Reason string `json:"reason"`
}

// LoadClosed: the truck has left. A carton left behind waits for the next load.
type LoadClosed struct {
	Load string   `json:"load"`
	Left []string `json:"left_behind,omitempty"`
}
