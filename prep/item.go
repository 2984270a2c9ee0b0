package prep

import "errors"

// Trace says how finely a unit of the item can be told from its like.
type Trace string

// The three trace levels.
const (
	// TraceClass is a quantity: no scan can tell two units apart.
	TraceClass Trace = "class"
	// TraceMark gives each unit a mark, printed on a label that it gets anyway.
	TraceMark Trace = "mark"
	// TraceBorn uses the serial number that the maker put on.
	TraceBorn Trace = "born"
)

// Item is one kind of goods: what a code names, never one piece.
type Item struct {
	Item   string `json:"item"` // the floor's own short code, such as PUZ
	Name   string `json:"name"`
	Codes  []GTIN `json:"codes,omitempty"`
	Owner  string `json:"owner_scope,omitempty"` // empty: any owner may have lots of it
	Attrs  Attrs  `json:"attrs"`
	Trace  Trace  `json:"trace"`
	UnitG  Mass   `json:"unit_g"`           // mean of a prepped unit
	UnitSD Mass   `json:"unit_sd_g"`        // standard deviation of it
	Dims   Dims   `json:"dims_mm"`          // as it arrives, before wrap; zero: not measured
	Value  Money  `json:"value_minor"`      // what one is worth, in minor units
	Set    int    `json:"set_of,omitempty"` // how many pieces are sold as one; 0 and 1: a single
}

// Pieces is how many retail pieces make one unit for sale, at least 1.
func (it Item) Pieces() int { return max(it.Set, 1) }

// Validate says what of the item cannot be true. All errors come at once,
// each an *InputError. Unknown attributes are no error here: they stop at triage.
func (it Item) Validate() error {
	checks := []struct {
		bad      bool
		what, do string
	}{
		{!isShortCode(it.Item), quoted(it.Item) + " is not an item code", "use 1 to 16 capital letters, digits or hyphens"},
		{it.Name == "", "the item has no name", "write what people call it"},
		{it.Trace != TraceClass && it.Trace != TraceMark && it.Trace != TraceBorn,
			quoted(string(it.Trace)) + " is not a trace level", "choose from class, mark, born"},
		{it.UnitG < 0 || it.UnitSD < 0, "a mass below zero", "write the mean and the deviation of one prepped unit"},
		{it.UnitSD > 0 && it.UnitG == 0, "a deviation without a mean mass", "weigh ten units and write their mean"},
		{it.Dims[0] < 0 || it.Dims[1] < 0 || it.Dims[2] < 0, "a side below zero", "write three outside measures"},
		{it.someSides(), "not all three sides are given", "write three outside measures, or none"},
		{it.Value < 0, "a value below zero", "write what one unit is worth in minor units"},
		{it.Set < 0 || it.Set > 1000, "a set of that many", "write how many pieces are sold as one"},
	}
	var errs []error
	for _, c := range checks {
		if c.bad {
			errs = append(errs, Input(c.what, c.do))
		}
	}
	return errors.Join(errs...)
}

func (it Item) someSides() bool {
	n := 0
	for _, side := range it.Dims {
		if side > 0 {
			n++
		}
	}
	return n == 1 || n == 2
}

func isShortCode(s string) bool {
	for _, r := range s {
		if !(r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == '-') {
			return false
		}
	}
	return len(s) >= 1 && len(s) <= 16
}
