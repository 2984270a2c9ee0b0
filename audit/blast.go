package audit

import (
	"fmt"
	"time"

	"packwright/prep"
)

// DefaultBackground is the share of units that get a complaint although nothing
// is wrong with their making: a guess of ours until a floor has matured units of
// its own to count; see [Fold.Matured].
const DefaultBackground prep.Fixed = 15_000

// MaturedAfter is how long after dispatch most complaints have come in (common
// practice).
const MaturedAfter = 45 * 24 * time.Hour

// Odds is what complaints say about one set of siblings.
type Odds struct {
	Complaints int `json:"complaints"` // units complained of that are surely of the set
	// Chance is that of so many complaints or more if the set were like all
	// others: the one-sided binomial tail at the background rate. Where only
	// "at most" is known of the set it is the set's upper end that counts, so
	// the chance is never made too small.
	Chance     prep.Fixed `json:"chance"`
	Adjusted   prep.Fixed `json:"adjusted"`    // by Holm, for all axes tested together
	Tested     int        `json:"axes_tested"` // how many that is
	Background prep.Fixed `json:"background"`
	Says       string     `json:"says"`
}

// Contrast is the complaints under one revision of the rules against those under
// all others of the same recipe, by Fisher's exact test, one-sided.
type Contrast struct {
	These  Tally      `json:"these"`
	Others Tally      `json:"others"`
	Chance prep.Fixed `json:"chance"`
	Says   string     `json:"says"`
}

// The limits of the words. One complaint is why somebody asks; it never suggests
// anything of itself.
const (
	standsOut  = 0.05
	suggestive = 0.125
)

// words judges a chance; adjusted is what it is worth after all that was tested.
func words(complaints int, chance, adjusted float64) string {
	switch {
	case complaints == 0:
		return "no complaint"
	case complaints == 1:
		return "nothing: one complaint alone"
	case adjusted < standsOut:
		return "stands out"
	case chance < suggestive:
		return "suggestive only"
	}
	return "nothing"
}

// Judge fills in what the complaints of each set say, against a background rate
// and together: the more axes are tried, the more one of them looks odd by chance.
// Sets without units are not tested. It gives the list it was given.
func Judge(list []Siblings, background prep.Fixed) []Siblings {
	var at []int
	var chances []float64
	for i, s := range list {
		p, ok := BinomialTail(Tally{min(s.Odds.Complaints, s.N), s.N}, background.Float())
		if ok {
			at, chances = append(at, i), append(chances, p)
		}
	}
	for i, adjusted := range Holm(chances) {
		o := &list[at[i]].Odds
		o.Chance, o.Adjusted = prep.FixedOf(chances[i]), prep.FixedOf(adjusted)
		o.Background, o.Tested = background, len(at)
		o.Says = words(o.Complaints, chances[i], adjusted)
	}
	return list
}

// Compare tests whether these have more complaints than the others.
func Compare(these, others Tally) *Contrast {
	f, ok := FisherExact(these, others)
	if !ok {
		return nil
	}
	p, _ := f.More.Float64()
	return &Contrast{these, others, prep.FixedOf(p), words(these.Bad, p, p)}
}

// Matured gives the floor's own background: of the units that left long enough
// ago, those complained of, whatever was found.
func (f *Fold) Matured(after time.Duration) Tally {
	var t Tally
	ripe := func(at stamp) bool { return stampOf(f.now).since(at) >= after }
	for _, d := range f.left {
		if ripe(d.At) {
			t.Of += int(d.N)
		}
	}
	for _, c := range f.claims {
		if c.DupOf != "" {
			continue
		}
		carton := c.Given.Carton
		if u := f.bound(c.Given.Mark); carton == "" && u != nil {
			carton = f.cartons.Keys[u.Carton]
		}
		box := f.cartons.get(carton)
		if box == nil || box.Kept == nil || box.sent() == nil || !ripe(box.sent().Fact.At) {
			continue
		}
		if c.Kind != "short" && c.Kind != "over" {
			t.Bad += max(1, c.Qty)
		}
	}
	t.Bad = min(t.Bad, t.Of)
	return t
}

// line writes what the complaints say, for the end of a line.
func (o Odds) line() string {
	if o.Complaints == 0 || o.Tested == 0 {
		return ""
	}
	return fmt.Sprintf("; %s, chance %.2g, adjusted %.2g: %s", plural(o.Complaints, "complaint"), o.Chance.Float(), o.Adjusted.Float(), o.Says)
}

func (c *Contrast) line() string {
	return fmt.Sprintf("%d of %d against %d of %d by other revisions: one-sided %.2g, %s", c.These.Bad, c.These.Of, c.Others.Bad, c.Others.Of, c.Chance.Float(), c.Says)
}

// next says what may be done about a set, when there is a complaint and units of
// it are still here.
func (s Siblings) next() string {
	rest := s.Here + s.Sealed
	if s.Odds.Complaints == 0 || rest == 0 {
		return ""
	}
	p, err := prep.ZeroBad(rest, max(1, rest/10), 950_000)
	if err != nil {
		return ""
	}
	return fmt.Sprintf("hold the %d still here, or look at %d of them: %s", rest, p.Sample, p.Statement())
}

func plural(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	return fmt.Sprintf("%d %ss", n, word)
}
