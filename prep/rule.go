package prep

// Rule says what follows from what is known about an item. Everything it
// names (steps, labels, cautions, materials) is defined once in the rulebook.
type Rule struct {
	ID    string    `json:"rule"` // P-08
	Title string    `json:"title"`
	When  Condition `json:"when"`

	// Stop is "hold" or "divert": no recipe, the goods go there.
	Stop string `json:"stop,omitempty"`
	// Ask, when set, holds the item until a person has answered.
	Ask string `json:"ask,omitempty"`

	Must      []string `json:"must,omitempty"`   // steps that a gate asks for
	Should    []string `json:"should,omitempty"` // steps that are good practice
	Materials []Use    `json:"materials,omitempty"`
	Labels    []string `json:"labels,omitempty"`
	Cautions  []string `json:"cautions,omitempty"`
	Allow     []Means  `json:"allow,omitempty"`
	Forbid    []Means  `json:"forbid,omitempty"`
	PairCheck bool     `json:"pair_check,omitempty"`

	Because string `json:"because,omitempty"`
	Source  string `json:"source,omitempty"`
}

// Severity is the heaviest thing that the rule asks for.
func (r Rule) Severity() Severity {
	switch {
	case r.Stop != "" || r.Ask != "":
		return Stop
	case len(r.Must) > 0 || len(r.Labels) > 0 || len(r.Materials) > 0 || len(r.Forbid) > 0 || r.PairCheck:
		return Must
	}
	return Should
}

// Use is a material that a rule asks for: a named one, or the smallest bag or
// box of the catalogue that fits.
type Use struct {
	Material string `json:"material,omitempty"`
	Pick     string `json:"pick,omitempty"`       // "bag" or "box": chosen by fit
	Amount   Fixed  `json:"amount,omitempty"`     // for one unit, or for one layer; 0 is one
	Layers   int    `json:"layers,omitempty"`     // of wrap
	Padding  Length `json:"padding_mm,omitempty"` // kept free on every side inside a picked box
}

// Condition is a set of tests in words. The tests of All must all hold; of
// Any, when there are some, at least one entry must hold as well. Always holds
// for every item.
type Condition struct {
	Always bool        `json:"always,omitempty"`
	All    []Test      `json:"all,omitempty"`
	Any    []Condition `json:"any,omitempty"`
}

// Test asks one thing of one attribute: that it is one of some words, or that
// a number stands to a threshold ("at least 127 mm", "over 0", "from 2 to 5").
type Test struct {
	Attr   string   `json:"attr"`
	Is     []string `json:"is,omitempty"`
	Number string   `json:"number,omitempty"`
}
