package workflow

import (
	"testing"

	"packwright/events"
	"packwright/prep"
)

// TestMissingStepOfTwoRuns: the words of a refusal can come to stand in the log,
// so of two runs that work on one tote it is always the same that they speak of.
func TestMissingStepOfTwoRuns(t *testing.T) {
	f := NewFloor(nil)
	f.Items["CUP"], f.RulesRev = &prep.Item{Item: "CUP"}, 1
	f.recipes[recipeKey{item: "CUP", rev: 1}] = &prep.Recipe{Steps: []prep.Step{
		{ID: "look-over", Severity: prep.Must}, {ID: "close-bag", Severity: prep.Must}}}
	for code, checked := range map[string]map[string]StepCheck{
		"R-01": {"look-over": {OK: true, All: true}}, "R-02": {}, "R-03": {},
	} {
		f.Runs[code] = &Run{Run: code, Tote: "T-01", Lot: "L-01", Item: "CUP", Rev: 1, State: RunOpen, Checked: checked}
	}
	cell := &Cell{Key: Key{Lot: "L-01", Stage: events.Triaged, Place: "T-01"}, Item: "CUP"}
	for range 50 {
		if got := f.stepMissing(cell); got != "no close bag step recorded" {
			t.Fatal(got)
		}
	}
}
