package audit

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"packwright/prep"
)

// Strength is how well a thing is shown.
type Strength string

// The strengths, from the best.
const (
	Strong Strength = "strong"
	Fair   Strength = "fair"
	Weak   Strength = "weak"
)

// Shortage is the evidence against "n of an item were missing from this carton":
// strand by strand, the whole, and the sentence that would defeat it.
type Shortage struct {
	Carton   string   `json:"carton"`
	Item     string   `json:"item"`
	N        int      `json:"n"`
	Strength Strength `json:"strength"`
	Verdict  string   `json:"verdict"`
	Strands  []Strand `json:"strands"`
	// The scale read Read; with n missing it would have read Would. ZExpected is
	// that from the expected weight, ZReading from the weight read, in deviations;
	// Miss is the chance that so much missing gives no alarm.
	Read      prep.Mass  `json:"read_g,omitempty"`
	Would     prep.Mass  `json:"would_read_g,omitempty"`
	ZExpected prep.Fixed `json:"z_expected"`
	ZReading  prep.Fixed `json:"z_reading"`
	Miss      prep.Fixed `json:"miss"`
	Defeat    string     `json:"defeated_by"`
	Unknown   []string   `json:"unknown"`
}

// Strand is one independent piece of the evidence.
type Strand struct {
	On       string   `json:"on"` // books, weight, persons, seal, wait, scale
	Strength Strength `json:"strength"`
	Says     string   `json:"says"`
}

// ShortEvidence weighs a claim that n of an item were missing from a carton.
// Errors: *NoSuch for a carton, or an item that the carton was never to hold;
// *prep.InputError for n below 1.
func (f *Fold) ShortEvidence(carton, item string, n int) (Shortage, error) {
	s := Shortage{Carton: carton, Item: item, N: n}
	if n < 1 {
		return s, prep.Input(fmt.Sprintf("%d missing is no shortage", n), "say how many are said to be missing, 1 or more")
	}
	v, ok := f.Contents(carton)
	if !ok {
		return s, &NoSuch{"carton", carton}
	}
	if !slices.ContainsFunc(v.Lines, func(l ContentLine) bool { return l.Item == item }) {
		return s, &NoSuch{"item in " + carton, item}
	}
	c := f.cartons.get(carton)
	s.Strands = []Strand{s.books(v), s.weigh(v, f.massOf(item)), f.persons(c), f.sealed(c), f.waited(c), f.scaleThen(c)}
	s.judge()
	s.Unknown = append(s.Unknown, "no weight is known after it left")
	for _, l := range v.Lines {
		if m := s.hides(v.Weight, f.massOf(item), f.massOf(l.Item)); m > 0 {
			s.Unknown = append(s.Unknown, fmt.Sprintf("%d %s too many in place of them would have weighed alike", m, l.Item))
		}
	}
	return s, nil
}

// judge takes the strands together. Weight, seal and books carry it: with all
// three strong, and nothing weak beside them, the whole is strong; where one of
// them is weak the others cannot make it good.
func (s *Shortage) judge() {
	by, says := map[string]Strength{}, map[Strength][]string{}
	for _, x := range s.Strands {
		by[x.On] = x.Strength
		says[x.Strength] = append(says[x.Strength], x.On+": "+x.Says)
	}
	carry := func(want Strength) (n int) {
		for _, on := range []string{"weight", "seal", "books"} {
			if by[on] == want {
				n++
			}
		}
		return n
	}
	switch {
	case carry(Weak) > 0:
		s.Strength, s.Verdict, s.Defeat = Weak, "it cannot be shown that it left complete", strings.Join(says[Weak], "; ")
	case carry(Strong) == 3 && len(says[Weak]) == 0:
		s.Strength, s.Verdict = Strong, "it left complete"
		s.Defeat = fmt.Sprintf("it was opened after it left and closed with a seal of the same number, or the scale was wrong by %s just then",
			grams(s.Read-s.Would))
	default:
		s.Strength, s.Verdict = Fair, "it probably left complete"
		s.Defeat = strings.Join(append(says[Weak], says[Fair]...), "; ")
	}
}

// hides gives how many units of another item, put in by mistake in place of the
// missing ones, would have left the reading within two deviations; 0: none.
func (s *Shortage) hides(w *Weight, gone, other MassLine) int {
	if w == nil || !w.Known || w.SD <= 0 || other.Item == gone.Item || other.Mean <= 0 {
		return 0
	}
	for m := 1; m <= s.N+1; m++ {
		if off := w.Residual + prep.Mass(s.N)*gone.Mean - prep.Mass(m)*other.Mean; max(off, -off) <= 2*w.SD {
			return m
		}
	}
	return 0
}

// Text writes the whole, then strand by strand.
func (s Shortage) Text(o io.Writer) error {
	b := &strings.Builder{}
	fmt.Fprintf(b, "%d %s missing from %s? evidence %s: %s\n", s.N, s.Item, s.Carton, s.Strength, s.Verdict)
	for _, x := range s.Strands {
		fmt.Fprintf(b, "  %-8s %-7s %s\n", x.On, x.Strength, x.Says)
	}
	fmt.Fprintf(b, "  what would defeat this: %s\n", s.Defeat)
	for _, u := range s.Unknown {
		fmt.Fprintf(b, "  not known: %s\n", u)
	}
	_, err := io.WriteString(o, b.String())
	return err
}
