package prep

import (
	"encoding/json"
)

// Rulebook is one revision of the owner's rules, with everything they name.
// It travels whole inside an event; its JSON form and back is exact.
type Rulebook struct {
	Rev       int           `json:"rev"`
	Note      string        `json:"note,omitempty"`
	AskFor    []string      `json:"ask_when_unknown,omitempty"` // beside the safety attributes
	Names     []Naming      `json:"names"`
	Otherwise string        `json:"otherwise"` // the recipe name when none of Names fits
	Never     [][2]Means    `json:"never_together,omitempty"`
	LeastFilm Length        `json:"least_film_mm,omitempty"` // thinner bags are never picked
	Steps     []StepWord    `json:"steps"`
	Labels    []LabelWord   `json:"labels,omitempty"`
	Cautions  []CautionWord `json:"cautions,omitempty"`
	Rules     []Rule        `json:"rules"`
	Materials Catalogue     `json:"catalogue"`

	made *compiled // set by ParseRulebook and UnmarshalJSON; never changed after
	src  *source   // where each part stands in the file it was read from
}

// Naming gives a recipe its short name: the first of the list whose rules
// have all fired.
type Naming struct {
	Name  string   `json:"name"`
	Rules []string `json:"rules"`
}

// place is where something stands in a source file.
type place struct{ line, col int }

// Digest is the SHA-256, in hexadecimal, of the rulebook's JSON form.
func (b *Rulebook) Digest() string { return digestOf(b) }

// UnmarshalJSON reads the JSON form and refuses a rulebook that its own rules
// cannot be worked from: a name that is nowhere defined, a test that no
// attribute takes. All errors come at once.
func (b *Rulebook) UnmarshalJSON(src []byte) error {
	type plain Rulebook
	var p plain
	if err := json.Unmarshal(src, &p); err != nil {
		return err
	}
	book := Rulebook(p)
	if err := book.compile(); err != nil {
		return err
	}
	*b = book
	return nil
}

// Rule returns the rule with that id.
func (b *Rulebook) Rule(id string) (Rule, bool) {
	for _, r := range b.Rules {
		if r.ID == id {
			return r, true
		}
	}
	return Rule{}, false
}
