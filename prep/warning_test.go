package prep

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestWarningTypeSizes(t *testing.T) {
	for _, r := range checkRows(t, "bag-warnings.txt", "type") {
		total := mustInches(t, r.col[0])
		for _, width := range []Length{total / 3, total / 2} {
			w := DefaultWarningPolicy.ForBag(Bag{Width: width, Length: total - width, Film: 51})
			if int(w.Type) != r.int(t, 1) {
				t.Errorf("%s: %s in give %d pt, want %s (%s)", r.place, r.col[0], w.Type, r.col[1], r.source)
			}
		}
	}
	for _, r := range checkRows(t, "bag-warnings.txt", "height") {
		if d := Points(r.int(t, 0)).Height().Millimetres() - r.float(t, 1); d > r.digits(1) || d < -r.digits(1) {
			t.Errorf("%s: %v", r.place, Points(r.int(t, 0)).Height())
		}
	}
}

func TestWarningTriggers(t *testing.T) {
	for _, r := range checkRows(t, "bag-warnings.txt", "bag") {
		film, err := ParseLength(r.col[3])
		if err != nil {
			t.Fatal(err)
		}
		b := Bag{ID: "b", Width: mustInches(t, r.col[0]), Gusset: mustInches(t, r.col[1]), Length: mustInches(t, r.col[2]), Film: film}
		w := DefaultWarningPolicy.ForBag(b)
		met := strings.Join(w.Triggers, " ")
		if met == "" {
			met = "-"
		}
		if w.Ask != (r.col[4] == "yes") || met != r.col[5] || w.NeedsLabel() != w.Ask {
			t.Errorf("%s: ask %v, statutes %s, label %v; want %s, %s", r.place, w.Ask, met, w.NeedsLabel(), r.col[4], r.col[5])
		}
		b.PrintedWarning = true
		if DefaultWarningPolicy.ForBag(b).NeedsLabel() {
			t.Errorf("%s: printed on the bag, yet a label is wanted", r.place)
		}
	}
}

func TestWarningUnknownIsNotNo(t *testing.T) {
	if w := DefaultWarningPolicy.ForBag(Bag{ID: "b"}); !w.Ask || !w.Thin {
		t.Errorf("nothing known: %+v", w)
	}
	if w := DefaultWarningPolicy.ForBag(Bag{Width: 12 * Inch, Length: 12 * Inch}); len(w.Triggers) != 3 {
		t.Errorf("film not known: %+v", w)
	}
	for film, want := range map[Length][2]bool{25: {true, false}, 26: {false, true}, 28: {false, true}, 29: {false, false}} {
		w := DefaultWarningPolicy.ForBag(Bag{Width: 12 * Inch, Length: 12 * Inch, Film: film})
		if w.Thin != want[0] || w.MayBeThin != want[1] {
			t.Errorf("film %v: thin %v, may be %v", film, w.Thin, w.MayBeThin)
		}
	}
}

// A larger or thinner bag never asks for less.
func TestWarningMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		side := rapid.Int64Range(1, 900_000)
		more := rapid.Int64Range(0, 100_000)
		b := Bag{Width: Length(side.Draw(t, "width")), Length: Length(side.Draw(t, "length")), Film: Length(rapid.Int64Range(1, 60).Draw(t, "film"))}
		c := Bag{Width: b.Width + Length(more.Draw(t, "wider")), Length: b.Length + Length(more.Draw(t, "longer")), Gusset: Length(more.Draw(t, "gusset")), Film: Length(rapid.Int64Range(1, int64(b.Film)).Draw(t, "thinner"))}
		small, large := DefaultWarningPolicy.ForBag(b), DefaultWarningPolicy.ForBag(c)
		if small.Ask && !large.Ask || small.Type > large.Type || len(small.Triggers) > len(large.Triggers) {
			t.Fatalf("%+v: %+v\n%+v: %+v", b, small, c, large)
		}
	})
}
