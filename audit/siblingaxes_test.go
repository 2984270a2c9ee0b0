package audit_test

import (
	"testing"

	"packwright/audit"
	"packwright/events"
	"packwright/prep"
)

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
