package workflow

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"packwright/events"
)

func TestPlanAmendedSumsChanges(t *testing.T) {
	p := &Plan{Lines: []events.PlanLine{{Carton: "C-1", Item: "A", Q: 3, Owner: "x"}, {Carton: "C-1", Item: "B", Q: 2, Owner: "x"}}}
	changes := []events.PlanChange{
		{Carton: "C-1", Item: "A", Owner: "x", Delta: -5}, {Carton: "C-1", Item: "A", Owner: "x", Delta: 5},
		{Carton: "C-1", Item: "B", Owner: "x", Delta: -2}, {Carton: "C-2", Item: "B", Owner: "x", Delta: 4}}
	want := []events.PlanLine{{Carton: "C-1", Item: "A", Q: 3, Owner: "x"}, {Carton: "C-2", Item: "B", Q: 4, Owner: "x"}}
	if diff := cmp.Diff(want, p.amended(changes)); diff != "" {
		t.Error(diff)
	}
	if p.Lines[0].Q != 3 || len(p.Lines) != 2 {
		t.Errorf("the plan itself changed: %v", p.Lines)
	}
	if diff := cmp.Diff([]string{"C-1", "C-2"}, touched(changes)); diff != "" {
		t.Error(diff)
	}
	if got := touched(changes[:2]); got != nil {
		t.Errorf("changes that cancel out touch %v", got)
	}
}

func TestDelegationTakesTheSmallerLimit(t *testing.T) {
	f := NewFloor(nil)
	f.policy.Delegated = map[string]Delegation{"quill": {Units: 3, Percent: 10}}
	p := &Plan{Lines: []events.PlanLine{{Carton: "C-1", Item: "A", Q: 20, Owner: "quill"}, {Carton: "C-2", Item: "A", Q: 90, Owner: "quill"}}}
	for _, x := range []struct {
		owner, carton string
		deltas        []int
		want          bool
	}{
		{"quill", "C-1", []int{-2}, true},      // a tenth of 20
		{"quill", "C-1", []int{-3}, false},     // over a tenth
		{"quill", "C-1", []int{-2, -1}, false}, // in two parts
		{"quill", "C-1", []int{-4, 3}, true},
		{"quill", "C-2", []int{3}, true},
		{"quill", "C-2", []int{4}, false}, // over three units
		{"quill", "C-3", []int{1}, false}, // a new line: a tenth of nothing
		{"house", "C-1", []int{-1}, false},
	} {
		var changes []events.PlanChange
		for _, n := range x.deltas {
			changes = append(changes, events.PlanChange{Carton: x.carton, Item: "A", Owner: x.owner, Delta: n})
		}
		if got := f.delegated(p, x.owner, changes); got != x.want {
			t.Errorf("%s %s %v: %t", x.owner, x.carton, x.deltas, got)
		}
	}
}

func TestPlanDone(t *testing.T) {
	state := func(c CartonState, load string) *Carton {
		return &Carton{Carton: "C-2", Plan: "PL", State: c, Load: load}
	}
	for _, x := range []struct {
		name  string
		other *Carton // C-2; nil: left before
		lined bool
		want  bool
	}{
		{"all on this load", state(CartonDispatched, "LD-1"), true, true},
		{"one on another load that has not left", state(CartonDispatched, "LD-2"), true, false},
		{"one left before", nil, true, true},
		{"one still sealed here", state(CartonSealed, ""), true, false},
		{"one never opened", state(CartonPlanned, ""), true, false},
		{"one never opened, its lines taken away", state(CartonPlanned, ""), false, true},
		{"one open, its lines taken away", state(CartonOpen, ""), false, false},
		{"one void, its lines taken away", state(CartonVoid, ""), false, true},
	} {
		f := NewFloor(nil)
		p := &Plan{Plan: "PL", Rev: 2, Lines: []events.PlanLine{{Carton: "C-1", Item: "A", Q: 3}}, Sealed: 3, Dispatched: 3}
		f.Plans["PL"] = p
		f.Cartons["C-1"] = &Carton{Carton: "C-1", Plan: "PL", State: CartonDispatched, Load: "LD-1"}
		if x.lined {
			p.Lines = append(p.Lines, events.PlanLine{Carton: "C-2", Item: "A", Q: 4})
		}
		if x.other != nil {
			f.Cartons["C-2"] = x.other
		} else {
			f.Past["C-2"] = true
		}
		got := f.planDone(p, "LD-1")
		if (got != nil) != x.want {
			t.Errorf("%s: %+v", x.name, got)
		}
		if got != nil && (got.Rev != 2 || got.Planned != planned(p.Lines, "C-1")+planned(p.Lines, "C-2")) {
			t.Errorf("%s: %+v", x.name, got)
		}
	}
}
