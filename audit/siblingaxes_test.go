package audit_test

import (
	"bytes"
	"math/rand/v2"
	"testing"

	"packwright/audit"
	"packwright/events"
	"packwright/prep"
)

// TestScaleAsGathered: a scale's set by the cartons' rows is what the cartons hold
// or left with, counted one by one, at any moment and after a restore, and its
// pages are the whole list.
func TestScaleAsGathered(t *testing.T) {
	sets, sent := 0, 0
	compare := func(f *audit.Fold, seed uint64) {
		for _, key := range f.ScalesUsed() {
			want := f.GatheredByScale(key)
			got, err := f.SiblingsAlong(audit.ByScale, key)
			if no := (&audit.NoSuch{Kind: string(audit.ByScale), Name: key}); err != nil && (err.Error() != no.Error() || want.N > 0) {
				t.Fatal(err)
			}
			if got.N != want.N || got.Class != want.Class || got.Here != want.Here || got.Sealed != want.Sealed || got.Dispatched != want.Dispatched ||
				got.Odds.Complaints != want.Odds.Complaints || got.HereMarks.String() != want.HereMarks.String() {
				t.Fatalf("seed %d, scale %s\ngathered %+v\ncounted  %+v", seed, key, want, got)
			}
			var list prep.Marks
			for from := prep.Mark(0); err == nil; {
				page, next, err := f.Members(audit.ByScale, key, from, 3)
				if err != nil {
					t.Fatal(err)
				}
				if list = append(list, page...); next == 0 {
					break
				}
				from = next
			}
			if list.String() != want.Marks.String() {
				t.Fatalf("seed %d, scale %s: by pages %s, gathered %s", seed, key, list, want.Marks)
			}
			sets, sent = sets+1, sent+got.Dispatched
		}
	}
	for seed := uint64(1); seed <= restDays; seed++ {
		dice := rand.New(rand.NewPCG(seed, 11))
		f := random(t, seed, 0, func(_ int, f *audit.Fold) {
			if dice.IntN(40) == 0 {
				compare(f, seed)
			}
		})
		compare(f, seed)
		again, err := audit.Load(bytes.NewReader(save(t, f)))
		if err != nil {
			t.Fatal(err)
		}
		compare(again, seed)
	}
	if sets == 0 || sent == 0 {
		t.Errorf("%d sets, %d units sent: nothing was tried", sets, sent)
	}
}

// TestTemplateSet: the printing that says its template's revision makes a set, one
// that does not makes none, and a run that printed by two is told as "at most".
func TestTemplateSet(t *testing.T) {
	f := lanternDay(t)
	if _, err := f.read().SiblingsAlong(audit.ByTemplate, "keep-sealed 2"); err == nil {
		t.Error("a set of a template that nobody named")
	}
	say := func(run string, rev int) {
		f.do("ST-2", "ife", &events.LabelsPrinted{Run: run, Kind: events.KeepSealed, N: 1, Template: rev})
	}
	say("R-07", 2)
	say("R-07", 2)
	s, err := f.read().SiblingsAlong(audit.ByTemplate, "keep-sealed 2")
	if err != nil || s.N != 9 || s.AtMost || s.Dispatched != 9 {
		t.Errorf("%+v, %v", s, err)
	}
	say("R-07", 3)
	list, err := f.read().SiblingsOf(19, 0)
	if err != nil {
		t.Fatal(err)
	}
	found := 0
	for _, s := range list {
		if s.Axis == audit.ByTemplate {
			if found++; s.N != 9 || !s.AtMost {
				t.Errorf("%+v", s)
			}
		}
	}
	if found != 2 {
		t.Errorf("%d sets of templates", found)
	}
}

// TestWarmAirSet: a run is of the set once a step that its rules have done by warm
// air was said to be done, and not by any other step or by one that failed.
func TestWarmAirSet(t *testing.T) {
	f := audit.New()
	book := prep.Rulebook{Steps: []prep.StepWord{
		{ID: "warm-off", Phase: prep.PhaseProtect, Say: "Warm the label off", Check: prep.CheckDone, Means: prep.WarmAir},
		{ID: "wrap", Phase: prep.PhaseProtect, Say: "Wrap all faces", Check: prep.CheckDone}}}
	f.TakeBook(book)
	for _, x := range []struct {
		step string
		ok   bool
		want bool
	}{{"wrap", true, false}, {"warm-off", false, false}, {"warm-off", true, true}, {"warm-off", true, true}} {
		if got := f.Warms(&events.StepChecked{Step: x.step, OK: x.ok}); got != x.want {
			t.Errorf("%s, ok %v: of the set %v, want %v", x.step, x.ok, got, x.want)
		}
	}
	if s, err := f.SiblingsAlong(audit.ByWarmAir, "warm-air"); err != nil || s.Axis != audit.ByWarmAir {
		t.Errorf("%+v, %v", s, err)
	}
	if _, err := audit.New().SiblingsAlong(audit.ByWarmAir, "warm-air"); err == nil {
		t.Error("a set where no run did such a step")
	}
}
