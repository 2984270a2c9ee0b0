package audit_test

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"packwright/audit"
	"packwright/events"
	"packwright/prep"
)

// judge is what a test, or one of its random cases, is told by.
type judge interface {
	Helper()
	Fatal(args ...any)
	Fatalf(format string, args ...any)
}

// tried counts what the comparisons met, so that none passes for want of cases.
type tried struct {
	sets                                            map[audit.Axis]int
	atMost, complaints, sealed, elsewhere, cut, odd int
}

// sameSet compares a set by its sums with the set gathered unit by unit.
func sameSet(t judge, at string, got, want audit.Siblings, whole prep.Marks) {
	t.Helper()
	if got.N != want.N || got.Class != want.Class || got.AtMost != want.AtMost || got.Here != want.Here || got.Sealed != want.Sealed ||
		got.Dispatched != want.Dispatched || got.Elsewhere != want.Elsewhere || got.Odds.Complaints != want.Odds.Complaints ||
		got.HereMarks.String() != want.HereMarks.String() || whole.String() != want.Marks.String() {
		t.Fatalf("%s\ngathered %+v\ncounted  %+v, in all %s", at, want, got, whole)
	}
}

// pages gives a whole set by pages of n.
func pages(t judge, f *audit.Fold, axis audit.Axis, key string, n int) (list prep.Marks) {
	t.Helper()
	for from := prep.Mark(0); ; {
		page, next, err := f.Members(axis, key, from, n)
		if err != nil || len(page) > n || next != 0 && len(page) < n {
			t.Fatalf("%s %s from %s: %s, more from %s, %v", axis, key, from, page, next, err)
		}
		if list = append(list, page...); next == 0 {
			return list
		}
		from = next
	}
}

// compareSums compares every set of a fold with what it holds.
func (tr *tried) compareSums(t judge, at string, f *audit.Fold, dice *rand.Rand) {
	t.Helper()
	for _, n := range f.NamedSets() {
		got, err := f.SiblingsAlong(n.Axis, n.Key)
		if err != nil {
			t.Fatal(at, err)
		}
		want := f.Gather(n)
		sameSet(t, at+" "+string(n.Axis)+" "+n.Key, got, want, pages(t, f, n.Axis, n.Key, 3))
		tr.meet(n.Axis, want)
		if n.Axis == audit.ByRules {
			if kept, plain := f.Others(n.Key); kept != plain {
				t.Fatalf("%s: other revisions than %s: %+v, gathered %+v", at, n.Key, kept, plain)
			}
		}
	}
	if got, want := f.Irregular(), f.PlainOddities(); !slices.Equal(got.Opened, want.Opened) || !slices.Equal(got.Placers, want.Placers) {
		t.Fatalf("%s: %+v, %+v; the cartons say %+v", at, got.Opened, got.Placers, want)
	} else {
		tr.odd += len(want.Opened) + len(want.Placers)
	}
	for _, s := range f.Shifts() {
		a, b := s.Ends[dice.IntN(len(s.Ends))], s.Ends[dice.IntN(len(s.Ends))]
		if b.Before(a) {
			a, b = b, a
		}
		off := func() time.Duration { return time.Duration(dice.IntN(121)) * time.Second }
		for _, w := range [][2]events.Time{{a, b}, {a.Add(-off()), b.Add(off())}, {a, a}, {a.Add(-24 * time.Hour), b.Add(24 * time.Hour)}} {
			want := f.GatherWindow(s.Station, s.Badge, w[0], w[1])
			got, name, ok := f.Window(s.Station, s.Badge, w[0], w[1])
			if !ok {
				t.Fatal(at, s, "is nobody's shift")
			}
			sameSet(t, at+" "+name, got, want, pages(t, f, audit.ByBench, name, 3))
			if tr.meet(audit.ByBench, want); want.N < f.GatherWindow(s.Station, s.Badge, a.Add(-1e6*time.Hour), b.Add(1e6*time.Hour)).N {
				tr.cut++
			}
		}
	}
}

func (tr *tried) meet(axis audit.Axis, s audit.Siblings) {
	tr.sets[axis]++
	tr.complaints += s.Odds.Complaints
	tr.sealed += s.Sealed
	tr.elsewhere += s.Elsewhere
	if s.AtMost {
		tr.atMost++
	}
}

// TestSumsAsGathered: what a set comes to by the sums kept with each event is what
// its units come to one by one, on every axis, at any moment of a random day, after
// a restore, and however few rows are awake.
func TestSumsAsGathered(t *testing.T) {
	tr := &tried{sets: map[audit.Axis]int{}}
	for seed := uint64(1); seed <= restDays; seed++ {
		dice := rand.New(rand.NewPCG(seed, 7))
		f := random(t, seed, 0, func(frames int, f *audit.Fold) {
			if dice.IntN(60) == 0 {
				tr.compareSums(t, fmt.Sprintf("seed %d, frame %d,", seed, frames), f, dice)
			}
		})
		tr.compareSums(t, fmt.Sprintf("seed %d, at the end,", seed), f, dice)
		again, err := audit.Load(bytes.NewReader(save(t, f)))
		if err != nil {
			t.Fatal(err)
		}
		tr.compareSums(t, fmt.Sprintf("seed %d, restored,", seed), again, dice)
	}
	if tr.atMost == 0 || tr.sealed == 0 || tr.elsewhere == 0 || tr.cut == 0 || tr.odd == 0 {
		t.Errorf("%+v: something was not tried", tr)
	}
	for _, axis := range []audit.Axis{audit.ByRun, audit.ByLot, audit.ByMaterial, audit.ByRules, audit.ByScale, audit.ByCarton, audit.ByBench} {
		if tr.sets[axis] == 0 {
			t.Errorf("no set by %s was tried", axis)
		}
	}
	t.Logf("%+v", tr)
}
