package prep

import (
	"fmt"
	"slices"
	"strings"
)

// attribute is one row of the table that drives the JSON form, the YAML
// reader, spreadsheets' columns, the conditions of rules and the proof of a
// rulebook. Exactly one of word and count is set.
type attribute struct {
	name   string
	ask    string   // the question to a packer when the answer is missing
	words  []string // words[0] is always "unknown"
	many   bool     // a set: several words may hold at once
	safety bool     // unknown stops at triage, whatever the rulebook says
	word   func(*Attrs) *uint8
	count  func(*Attrs) *int64
}

const unknownWord = "unknown"

var yesNo = []string{unknownWord, "no", "yes"}

// attributes is the table. Safety marks what may hurt somebody when nobody has
// looked: cells, hazard signs, pressure, strong magnets, liquids, edges.
var attributes = [...]attribute{
	{name: "outer", ask: "What is the outermost pack?",
		words: []string{unknownWord, "closed", "window", "open", "bag", "soft-case", "tin", "none"},
		word:  func(a *Attrs) *uint8 { return (*uint8)(&a.Outer) }},
	{name: "surface_under_sticker", ask: "What does the sticker sit on?",
		words: []string{unknownWord, "card", "rigid-plastic", "soft-film", "soft-case", "shrink", "glass", "metal", "printed-metal", "fabric", "foil-print"},
		word:  func(a *Attrs) *uint8 { return (*uint8)(&a.Surface) }},
	{name: "sticker", ask: "Is there a sticker to take off?",
		words: []string{unknownWord, "none", "paper", "multi-layer", "security"},
		word:  func(a *Attrs) *uint8 { return (*uint8)(&a.Sticker) }},
	{name: "window_within_50mm", ask: "Is a window within 50 mm of the sticker?", words: yesNo,
		word: func(a *Attrs) *uint8 { return (*uint8)(&a.WindowNear) }},
	{name: "collectible", ask: "Does the box itself matter to the buyer?", words: yesNo,
		word: func(a *Attrs) *uint8 { return (*uint8)(&a.Collectible) }},
	{name: "fragile", ask: "Would it break in a fall?",
		words: []string{unknownWord, "no", "brittle", "glass"},
		word:  func(a *Attrs) *uint8 { return (*uint8)(&a.Fragile) }},
	{name: "liquid", ask: "Can anything run out?", safety: true,
		words: []string{unknownWord, "no", "sealed", "closure"},
		word:  func(a *Attrs) *uint8 { return (*uint8)(&a.Liquid) }},
	{name: "volume_ml", ask: "How many millilitres does it hold?",
		count: func(a *Attrs) *int64 { return &a.VolumeML }},
	{name: "sharp", ask: "Is there an edge or a point that cuts?", safety: true, words: yesNo,
		word: func(a *Attrs) *uint8 { return (*uint8)(&a.Sharp) }},
	{name: "soft_goods", ask: "Is it cloth, plush or the like?", words: yesNo,
		word: func(a *Attrs) *uint8 { return (*uint8)(&a.SoftGoods) }},
	{name: "pieces_loose", ask: "Are there loose pieces inside?", words: yesNo,
		word: func(a *Attrs) *uint8 { return (*uint8)(&a.PiecesLoose) }},
	{name: "small_parts", ask: "Does the pack speak of small parts?", words: yesNo,
		word: func(a *Attrs) *uint8 { return (*uint8)(&a.SmallParts) }},
	{name: "age_under3", ask: "Is it meant for children under three?", words: yesNo,
		word: func(a *Attrs) *uint8 { return (*uint8)(&a.AgeUnder3) }},
	{name: "expiry", ask: "Is a date printed on the pack?",
		words: []string{unknownWord, "none", "best-before", "use-by"},
		word:  func(a *Attrs) *uint8 { return (*uint8)(&a.Expiry) }},
	{name: "heat_sensitive", ask: "Would warmth harm it?", words: yesNo,
		word: func(a *Attrs) *uint8 { return (*uint8)(&a.HeatSensitive) }},
	{name: "battery", ask: "Is there a cell or battery in it?", safety: true,
		words: []string{unknownWord, "no", "alkaline-in", "lithium"},
		word:  func(a *Attrs) *uint8 { return (*uint8)(&a.Battery) }},
	{name: "hazard_pictogram", ask: "Is a hazard sign printed on it?", safety: true, words: yesNo,
		word: func(a *Attrs) *uint8 { return (*uint8)(&a.HazardPictogram) }},
	{name: "aerosol", ask: "Is it a spray can?", safety: true, words: yesNo,
		word: func(a *Attrs) *uint8 { return (*uint8)(&a.Aerosol) }},
	{name: "magnet", ask: "Is there a magnet in it?", safety: true,
		words: []string{unknownWord, "no", "weak", "strong"},
		word:  func(a *Attrs) *uint8 { return (*uint8)(&a.Magnet) }},
	{name: "retail_barcodes_visible", ask: "Can a retail barcode be seen?", words: yesNo,
		word: func(a *Attrs) *uint8 { return (*uint8)(&a.BarcodesVisible) }},
	{name: "printed_warnings", ask: "Which warnings are printed on it?", many: true,
		words: []string{unknownWord, "none", "suffocation", "small-parts", "this-way-up", "fragile", "care", "other"},
		word:  func(a *Attrs) *uint8 { return (*uint8)(&a.PrintedWarnings) }},
	{name: "grade", ask: "How good is the pack: a, b or c?",
		words: []string{unknownWord, "a", "b", "c"},
		word:  func(a *Attrs) *uint8 { return (*uint8)(&a.Grade) }},
	{name: "arrival", ask: "Did it arrive clean and dry?",
		words: []string{unknownWord, "clean", "dusty", "odour", "pest", "wet"},
		word:  func(a *Attrs) *uint8 { return (*uint8)(&a.Arrival) }},
	{name: "case_pack", ask: "Is it the maker's own unopened case?", words: yesNo,
		word: func(a *Attrs) *uint8 { return (*uint8)(&a.CasePack) }},
	{name: "listed", ask: "Does the destination have an item code for it?", words: yesNo,
		word: func(a *Attrs) *uint8 { return (*uint8)(&a.Listed) }},
	{name: "item_label", ask: "Does the destination want an item label?", words: yesNo,
		word: func(a *Attrs) *uint8 { return (*uint8)(&a.ItemLabel) }},
}

// AttrNames lists the names of all attributes, in the order of the table.
func AttrNames() []string {
	names := make([]string, len(attributes))
	for i := range attributes {
		names[i] = attributes[i].name
	}
	return names
}

// AttrWords lists the words that the named attribute takes ("unknown" first),
// nil when it is a number or there is no such attribute.
func AttrWords(name string) []string {
	if at := findAttribute(name); at != nil {
		return slices.Clone(at.words)
	}
	return nil
}

// AttrQuestion is what to ask a person to learn the named attribute.
func AttrQuestion(name string) string {
	if at := findAttribute(name); at != nil {
		return at.ask
	}
	return ""
}

// SafetyAttrs lists the attributes that must be known before anything is done.
func SafetyAttrs() []string {
	var names []string
	for i := range attributes {
		if attributes[i].safety {
			names = append(names, attributes[i].name)
		}
	}
	return names
}

func findAttribute(name string) *attribute {
	for i := range attributes {
		if attributes[i].name == name {
			return &attributes[i]
		}
	}
	return nil
}

// SetAttr sets the attribute called name from the word a person wrote: one
// of its words, a whole number, or for a set several words joined by ",", ";"
// or "|". An empty word leaves it unknown. The error is an *InputError that
// offers the nearest name or word.
func SetAttr(a *Attrs, name, word string) error {
	at := findAttribute(name)
	if at == nil {
		return Input(quoted(name)+" is not an attribute", suggest(name, AttrNames()))
	}
	return at.set(a, word)
}

// GetAttr gives the answer to the named attribute in words, "unknown" when it
// is not known or there is no such attribute.
func GetAttr(a Attrs, name string) string {
	if at := findAttribute(name); at != nil {
		return at.text(&a)
	}
	return unknownWord
}

func (at *attribute) set(a *Attrs, word string) error {
	word = strings.ToLower(strings.TrimSpace(word))
	if at.count != nil {
		return at.setCount(a, word)
	}
	if !at.many {
		v, err := at.index(word)
		if err == nil {
			*at.word(a) = uint8(v)
		}
		return err
	}
	var bits uint8
	for _, w := range strings.FieldsFunc(word, func(r rune) bool { return strings.ContainsRune(",;| ", r) }) {
		v, err := at.index(w)
		if err != nil {
			return err
		}
		if v > 0 {
			bits |= 1 << v
		}
	}
	if bits&uint8(PrintedNone) != 0 && bits != uint8(PrintedNone) {
		return Input(at.name+" is none and something at once", "write none, or what is there")
	}
	*at.word(a) = bits
	return nil
}

func (at *attribute) setCount(a *Attrs, word string) error {
	if word == "" || word == unknownWord {
		*at.count(a) = 0
		return nil
	}
	v, err := wholeNumber(word)
	if err != nil {
		return err
	}
	*at.count(a) = v
	return nil
}

// index finds a word; empty means unknown.
func (at *attribute) index(word string) (int, error) {
	if word == "" {
		return 0, nil
	}
	if i := slices.Index(at.words, word); i >= 0 {
		return i, nil
	}
	return 0, Input(fmt.Sprintf("%s is not a word for %s", quoted(word), at.name), suggest(word, at.words))
}

// mask gives the answer as a set of bits, one a word of the table: what
// conditions are tested against.
func (at *attribute) mask(a *Attrs) uint16 {
	v := *at.word(a)
	switch {
	case !at.many:
		return 1 << v
	case v == 0:
		return 1
	}
	return uint16(v)
}

func (at *attribute) known(a *Attrs) bool {
	if at.count != nil {
		return *at.count(a) != 0
	}
	return *at.word(a) != 0
}

func (at *attribute) text(a *Attrs) string {
	if at.count != nil {
		if v := *at.count(a); v != 0 {
			return fmt.Sprint(v)
		}
		return unknownWord
	}
	return strings.Join(at.said(at.mask(a)), ", ")
}

// said lists the words of the bits in mask.
func (at *attribute) said(mask uint16) []string {
	var out []string
	for i, w := range at.words {
		if mask&(1<<i) != 0 {
			out = append(out, w)
		}
	}
	return out
}
