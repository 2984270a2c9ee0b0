package prep

import (
	"math"
	"strconv"
)

// Points is a size of type; a point is 1/72 in.
type Points int

// Height is the size as a length: 24 pt are 8.467 mm.
func (p Points) Height() Length { return Length(mulDiv(int64(p), int64(Inch), 72)) }

// Statute is one law or rule on suffocation warnings, reduced to what can be
// measured on a bag. A zero limit is not a trigger. Exemptions are listed, not
// applied: whether one holds is a question for a person and the local code.
type Statute struct {
	ID, Place, Cite string
	Seen            string // how the text was seen: read, or by a secondary source
	ThinnerThan     Length // the film
	OverDiameter    Length // of the opened end, a circle: more than
	FromFlat        Length // the opening laid flat: this or more
	OverOpening     int64  // of the opened end, in square inches: more than
	OverCapacity    int64  // in cubic inches: more than
	Exempt          string
}

// TypeSize is one row of the size table: from this total of length and width,
// this size of type or more.
type TypeSize struct {
	From Length
	Type Points
}

// WarningPolicy is the dated table a floor works by.
type WarningPolicy struct {
	AsOf     string // the day the table was last held against its sources
	FromFlat Length // our own trigger: an opening this wide, laid flat, gets a warning whatever its film
	Sizes    []TypeSize
	SizeCite string
	Text     string // the wording for a label, a statute's own
	TextCite string
	Statutes []Statute
}

// oneMil is 0.001 in. A film is kept in whole µm, so one bought as 1 mil is
// held as 25 µm and counts as thinner: the careful side, since the stated gauge
// of a film commonly runs a tenth over the measured one (trade pages).
const oneMil = Length(26) // a whole number of µm is below 25.4 exactly when it is below 26

// DefaultWarningPolicy is the shipped table. Our own trigger takes the five
// inches of the Rhode Island text as the width laid flat. The text means the
// diameter of the opened end, which is 7.85 in laid flat; ours is the stricter.
var DefaultWarningPolicy = WarningPolicy{
	AsOf:     "2026-11-25",
	FromFlat: 5 * Inch,
	Sizes:    []TypeSize{{60 * Inch, 24}, {40 * Inch, 18}, {30 * Inch, 14}, {0, 10}},
	SizeCite: "R.I. Gen. Laws § 11-9-16; Cal. Bus. & Prof. Code §§ 22200-22202, the same table",
	Text: "WARNING: Keep this bag away from babies and children. Do not use in cribs, beds, carriages, or playpens. " +
		"The thin film may cling to nose and mouth and prevent breathing.",
	TextCite: "R.I. Gen. Laws § 11-9-16, or substantially equivalent",
	Statutes: []Statute{
		{ID: "ri", Place: "Rhode Island", Cite: "R.I. Gen. Laws § 11-9-16", Seen: "read", ThinnerThan: oneMil, OverDiameter: 5 * Inch,
			Exempt: "food bags of at most 5 lb"},
		{ID: "ca", Place: "California", Cite: "Cal. Bus. & Prof. Code §§ 22200-22202", Seen: "read", ThinnerThan: oneMil, OverOpening: 25, OverCapacity: 125,
			Exempt: "bags for industrial use only"},
		{ID: "other-us", Place: "New York, New York City, Chicago, Massachusetts, Virginia", Cite: "trade summaries of the local rules", Seen: "secondary source",
			ThinnerThan: oneMil, FromFlat: 7 * Inch},
	},
}

// BagWarning is what the table says of one bag.
type BagWarning struct {
	Bag        string   `json:"bag"`
	Ask        bool     `json:"ask"`                   // a warning is asked for
	Printed    bool     `json:"printed"`               // and is on the bag already
	Type       Points   `json:"type_pt"`               // the least size of type, should there be a warning
	Total      Length   `json:"length_plus_width_mm"`  // what the size follows from
	Thin       bool     `json:"thin"`                  // film below 1 mil, or not known
	MayBeThin  bool     `json:"may_be_thin,omitempty"` // 1 mil as stated, less when a tenth under gauge
	Triggers   []string `json:"triggers"`              // the ids of the statutes whose own measures the bag meets
	Because    []string `json:"because"`               // sentences, ours first
	LocalCode  string   `json:"local_code"`            // always said
	PolicyAsOf string   `json:"policy_as_of"`
}

// NeedsLabel tells whether a warning has to be put on by hand.
func (w BagWarning) NeedsLabel() bool { return w.Ask && !w.Printed }

// ForBag holds a bag against the table. A bag whose film is not known counts as
// thin, and one whose opening is not known as wide: unknown is not no.
func (p WarningPolicy) ForBag(b Bag) BagWarning {
	flat := b.Width + b.Gusset
	w := BagWarning{
		Bag: b.ID, Printed: b.PrintedWarning, Total: b.Length + flat, PolicyAsOf: p.AsOf,
		Thin:      b.Film < oneMil,
		MayBeThin: b.Film >= oneMil && b.Film*9/10 < oneMil,
		LocalCode: "Check your local code: other places ask for other sizes and words.",
	}
	w.Type = p.typeFor(w.Total)
	if flat >= p.FromFlat || b.Width <= 0 {
		w.Ask = true
		w.Because = append(w.Because, "The opening laid flat is "+flat.InchString()+", "+p.FromFlat.InchString()+" or more (this floor's own rule, stricter than the statutes).")
	}
	for _, s := range p.Statutes {
		if why := s.meets(b); why != "" {
			w.Ask = true
			w.Triggers = append(w.Triggers, s.ID)
			w.Because = append(w.Because, s.Place+": "+why+" ("+s.Cite+").")
		}
	}
	if w.MayBeThin {
		w.Because = append(w.Because, "The film is stated as "+b.Film.String()+"; a film a tenth under its stated gauge would be thinner than 1 mil.")
	}
	return w
}

func (p WarningPolicy) typeFor(total Length) Points {
	for _, s := range p.Sizes {
		if total >= s.From {
			return s.Type
		}
	}
	return 0
}

// meets says which of the statute's measures the bag meets, "" when none.
// Opened to a circle, a mouth of flat width w has the diameter 2w/π and the
// area w²/π. The capacity is taken as that of the open tube, w²·length/π, which
// no bag exceeds.
func (s Statute) meets(b Bag) string {
	if b.Film >= s.ThinnerThan {
		return ""
	}
	film := "film thinner than 1 mil and "
	flat := (b.Width + b.Gusset).Inches()
	switch {
	case s.OverDiameter > 0 && 2*flat/math.Pi > s.OverDiameter.Inches():
		return film + "an opened end of more than " + s.OverDiameter.InchString() + " across"
	case s.FromFlat > 0 && b.Width+b.Gusset >= s.FromFlat:
		return film + "an opening of " + s.FromFlat.InchString() + " or more"
	case s.OverOpening > 0 && flat*flat/math.Pi > float64(s.OverOpening):
		return film + "an opening of more than " + strconv.FormatInt(s.OverOpening, 10) + " sq in"
	case s.OverCapacity > 0 && flat*flat*b.Length.Inches()/math.Pi > float64(s.OverCapacity):
		return film + "a capacity that may exceed " + strconv.FormatInt(s.OverCapacity, 10) + " cu in"
	}
	return ""
}
