package prep

import (
	"slices"
	"strings"
)

// Material kinds.
const (
	KindBag     = "bag"
	KindBox     = "box"
	KindWrap    = "wrap"
	KindTape    = "tape"
	KindLabel   = "label"
	KindRemover = "remover"
	KindOther   = "other"
)

var materialKinds = []string{KindBag, KindBox, KindWrap, KindTape, KindLabel, KindRemover, KindOther}

// Material is one line of the catalogue: a thing that is bought, kept in lots
// and used up by recipes. Lengths are zero where they do not apply.
type Material struct {
	ID    string `json:"material"`
	Name  string `json:"name"`
	Kind  string `json:"kind"`
	Price Money  `json:"price_minor"` // for one unit
	Unit  string `json:"unit"`        // what one is: each, sheet, m, ml

	Inner     Dims   `json:"inner_mm,omitzero"`      // a box: inside sides
	Width     Length `json:"width_mm,omitempty"`     // a bag: the opened side, laid flat; a label: across
	Length    Length `json:"length_mm,omitempty"`    // a bag or a label
	Gusset    Length `json:"gusset_mm,omitempty"`    // a bag, opened out; 0 is flat
	Film      Length `json:"film_mm,omitempty"`      // a bag's film
	Thickness Length `json:"thickness_mm,omitempty"` // one layer of wrap

	Adhesive          bool `json:"adhesive,omitempty"`            // a bag closes by its own strip
	PrintedWarning    bool `json:"printed_warning,omitempty"`     // a bag carries the suffocation warning
	PrintedKeepClosed bool `json:"printed_keep_closed,omitempty"` // a bag says that it is to stay closed

	Substitutes []string `json:"substitutes,omitempty"` // may take its place, best first
	Source      string   `json:"source,omitempty"`
}

// Catalogue is every material a rulebook may name, in the order of its file.
type Catalogue struct {
	Materials []Material `json:"materials"`
}

// Find returns the material with that id.
func (c Catalogue) Find(id string) (Material, bool) {
	if m := c.find(id); m != nil {
		return *m, true
	}
	return Material{}, false
}

func (c Catalogue) find(id string) *Material {
	for i := range c.Materials {
		if c.Materials[i].ID == id {
			return &c.Materials[i]
		}
	}
	return nil
}

// Bags lists the bags.
func (c Catalogue) Bags() []Bag {
	var bags []Bag
	for _, m := range c.Materials {
		if m.Kind == KindBag {
			bags = append(bags, m.Bag())
		}
	}
	return bags
}

// Boxes lists the outer boxes.
func (c Catalogue) Boxes() []Box {
	var boxes []Box
	for _, m := range c.Materials {
		if m.Kind == KindBox {
			boxes = append(boxes, m.Box())
		}
	}
	return boxes
}

// Bag is the material as fit sees a bag.
func (m Material) Bag() Bag {
	return Bag{ID: m.ID, Width: m.Width, Length: m.Length, Gusset: m.Gusset, Film: m.Film, Price: m.Price,
		PrintedWarning: m.PrintedWarning, PrintedKeepClosed: m.PrintedKeepClosed}
}

// Box is the material as fit sees a box.
func (m Material) Box() Box { return Box{ID: m.ID, Inner: m.Inner, Price: m.Price} }

// MaySubstitute tells whether the catalogue lets other stand in for id.
func (c Catalogue) MaySubstitute(id, other string) bool {
	m, ok := c.Find(id)
	return ok && slices.Contains(m.Substitutes, other)
}

func (c Catalogue) ids() []string {
	ids := make([]string, len(c.Materials))
	for i, m := range c.Materials {
		ids[i] = m.ID
	}
	return ids
}

// LabelWord is a label as the rulebook defines it.
type LabelWord struct {
	ID       string `json:"label"`
	Material string `json:"material"` // what it is printed on
	Where    string `json:"where"`
	OnBag    string `json:"on_bag,omitempty"` // where, when a bag is outermost
	OnBox    string `json:"on_box,omitempty"` // where, when an outer box is
	// Unless names words that, printed on the chosen bag, make the label
	// superfluous: "warning" or "keep-closed".
	Unless string `json:"unless_printed,omitempty"`
	Count  int    `json:"count,omitempty"` // how many of it, 0 is one
}

// LabelNeed is one label of a recipe.
type LabelNeed struct {
	ID    string `json:"label"`
	Where string `json:"where"`
	Count int    `json:"count"`
	Rule  string `json:"rule"`
}

// MaterialNeed is what one unit takes of a material.
type MaterialNeed struct {
	Material string `json:"material"`
	Kind     string `json:"kind"`
	Amount   Fixed  `json:"amount"`           // of the material's unit
	Layers   int    `json:"layers,omitempty"` // of wrap
	Rule     string `json:"rule"`
	Why      string `json:"why,omitempty"` // how it was chosen, when it was not named by the rule
}

// One is a whole unit, as a Fixed.
const One Fixed = 1_000_000

// Cost is what the use costs at the catalogue's price.
func (c Catalogue) Cost(u MaterialNeed) Money {
	m, _ := c.Find(u.Material)
	return m.Price.Times(int64(u.Amount), int64(One))
}

// PrepCost is the material cost of one unit of a recipe at the catalogue's prices.
func (c Catalogue) PrepCost(r Recipe) Money {
	var sum Money
	for _, u := range r.Materials {
		sum += c.Cost(u)
	}
	return sum
}

func isWord(s string) bool {
	if s == "" || len(s) > 40 || strings.Trim(s, "-") != s {
		return false
	}
	for _, r := range s {
		if !(r >= 'a' && r <= 'z' || r >= '0' && r <= '9' || r == '-') {
			return false
		}
	}
	return true
}
