package audit_test

import (
	"errors"
	"strings"
	"testing"

	"packwright/audit"
	"packwright/events"
	"packwright/prep"
)

// TestCannotBePlaced: facts that no lawful floor writes are errors that name the
// place, and never pass in silence. Each is applied after the whole log of every
// move.
func TestCannotBePlaced(t *testing.T) {
	for _, c := range []struct {
		d    events.Data
		says string
	}{
		{&events.FloorFounded{Floor: "second"}, "founded once"},
		{&events.LotAnnounced{Lot: "L-01", Item: "MG3", Qty: 1}, "announced before"},
		{&events.LotReceived{Lot: "L-01", Item: "MG4", Tote: "T-1", Qty: 1}, "is of MG3"},
		{&events.LotReceived{Lot: "L-01", Item: "MG3", Tote: "T-1", Qty: 0}, "0 units"},
		{&events.LotReceived{Lot: "", Item: "MG3", Tote: "T-1", Qty: 1}, "without a name"},
		{&events.LotCorrected{Lot: "L-01", Item: "MG3", Stage: events.Received, Place: "T-05", Delta: -2}, "there are 1"},
		{&events.LotCorrected{Lot: "L-01", Item: "MG3", Stage: events.Dispatched, Delta: -1}, "correction"},
		{&events.ToteSplit{From: "T-05", To: "T-1", Lot: "L-01", Item: "MG3", Stage: "ready", Q: 1}, `stage "ready"`},
		{&events.ToteSplit{From: "T-05", To: "T-1", Lot: "L-01", Item: "MG3", Stage: events.Received, Q: 2}, "there are 1"},
		{&events.ToteSplit{From: "T-05", To: "", Lot: "L-01", Item: "MG3", Stage: events.Received, Q: 1}, "nowhere"},
		{&events.ToteSplit{From: "T-99", To: "T-1", Lot: "L-01", Item: "MG3", Stage: events.Received, Q: 1}, "there are 0"},
		{&events.UnitsTriaged{Lot: "L-01", Item: "MG3", Tote: "T-05", Q: 1, Verdict: "maybe"}, "verdict"},
		{&events.UnitsTriaged{Lot: "L-99", Item: "MG3", Tote: "T-05", Q: 1, Verdict: events.ToPrep}, "no lot"},
		{&events.UnitsHeld{Lot: "L-01", Item: "MG3", Stage: events.Prepped, From: "T-06", To: "A-1", Q: 2, Marks: marks(3)}, "2 units with 1 marks"},
		{&events.UnitsHeld{Lot: "L-01", Item: "MG3", Stage: events.Prepped, From: "T-06", To: "A-1", Q: 1, Marks: marks(6)}, "cancelled"},
		{&events.UnitsHeld{Lot: "L-01", Item: "MG3", Stage: events.Prepped, From: "T-06", To: "A-1", Q: 1, Marks: marks(1)}, "has left the floor: dispatched"},
		{&events.UnitsHeld{Lot: "L-01", Item: "MG3", Stage: events.Prepped, From: "T-06", To: "A-1", Q: 1, Marks: marks(99)}, "never put on a unit"},
		{&events.UnitsHeld{Lot: "L-01", Item: "MG3", Stage: events.Prepped, From: "T-07", To: "A-1", Q: 1, Marks: marks(3)}, "it is of L-01 at prepped in T-06"},
		{&events.UnitsHeld{Lot: "L-01", Item: "MG3", Stage: events.Prepped, From: "T-06", To: "A-1", Q: 1}, "there are 0"}, // marked ones are not for the asking
		{&events.UnitsDiverted{Lot: "L-01", Item: "MG3", Stage: events.Dispatched, Q: 1}, "cannot go anywhere"},
		{&events.UnitsReturnedToFloor{Lot: "L-01", Item: "MG3", Tote: "T-1", Q: 9}, "more than ever left"},
		{&events.UnitsPrepped{Run: "R-99", Lot: "L-01", Item: "MG3", From: "T-01", To: "T-01", Q: 1}, "no run"},
		{&events.UnitsPrepped{Run: "R-01", Lot: "L-01", Item: "MG3", From: "T-01", To: "T-01", Q: 1, Marks: marks(2)}, "used before"},
		{&events.UnitsPrepped{Run: "R-01", Lot: "L-01", Item: "MG3", From: "T-01", To: "T-01", Q: 1, Marks: marks(6)}, "used before"},
		{&events.RunOpened{Run: "R-01", Tote: "T-01", Lot: "L-01", Item: "MG3"}, "opened before"},
		{&events.RunOpened{Run: "R-09", Tote: "T-01", Lot: "L-99", Item: "MG3"}, "no lot"},
		{&events.MaterialSwapped{Run: "R-01", Material: "wrap", From: "BW-1", To: "BW-2", AtUnit: 1}, "does not use"},
		{&events.BundleBuilt{Run: "R-01", Lot: "L-01", Item: "MG3", Q: 1, To: "ST-1", Components: []events.Component{{Lot: "L-01", Item: "MG3", Stage: events.Triaged, From: "T-01", Q: 1}}}, "into itself"},
		{&events.UnitMarked{Mark: 50, Lot: "L-01", Item: "MG3", From: "T-06", To: "T-06"}, "there are 0"},
		{&events.MarkVoided{Mark: 3, Lot: "L-01", Item: "MG3", Stage: events.Sealed, Place: "T-06"}, "M-0003"},
		{&events.CartonOpened{Carton: "C-01"}, "is dispatched"},
		{&events.UnitPlaced{Carton: "C-01", Item: "MG3", Lot: "L-01", From: "T-99", Q: 1, Marks: marks(3)}, "nothing was ever"},
		{&events.UnitPlaced{Carton: "C-99", Item: "MG3", Lot: "L-01", From: "T-06", Q: 1, Marks: marks(3)}, "no carton"},
		{&events.CountAccepted{Carton: "C-01"}, "waits for its count"},
		{&events.CountVoided{Carton: "C-99"}, "no carton"},
		{&events.CartonSealed{Carton: "C-01", Seal: "000003"}, "nothing in C-01 is counted"},
		{&events.CartonReopened{Carton: "C-01", Seal: "000002"}, "is not sealed"},
		{&events.CartonDispatched{Carton: "C-01", Load: "LD-1", Seal: "000002"}, "nothing in C-01 is sealed"},
		{&events.CartonDispatched{Carton: "C-01", Load: "LD-9", Seal: "000002"}, "no load"},
		{&events.DispatchCancelled{Carton: "C-01", Load: "LD-9"}, "is not on load"},
		{&events.LoadOpened{Load: "LD-1"}, "opened before"},
		{&events.PlanReleased{Plan: "PL", Rev: 1}, "released before"},
		{&events.PlanAmended{Plan: "PL", Rev: 3}, "r3 follows r1"},
		{&events.PlanAmended{Plan: "PL", Rev: 2, Changes: []events.PlanChange{{Carton: "C-01", Item: "MG3", Owner: "house", Delta: -4}}}, "leaves -1"},
		{&events.MismatchTaken{Mismatch: "X-99"}, "no mismatch"},
		{&events.MismatchRaised{}, "raised before"},
		{&events.ClaimTraced{Claim: "CL-9"}, "no claim"},
		{&events.ItemRevised{Item: prep.Item{Item: "NEW"}}, "not registered"},
		{&events.RulebookBlocked{Rev: 7}, "no rulebook r7"},
	} {
		f := everyMove(t)
		fold := audit.New()
		for i := range f.list {
			if err := fold.Apply(&f.list[i]); err != nil {
				t.Fatal(err)
			}
		}
		e := events.Event{Seq: events.Seq{Frame: 500, Index: 2}, Cause: "ST-1/1/900", At: f.now, Recorded: f.now, Station: "ST-1", Data: c.d}
		err := fold.Apply(&e)
		if !errors.Is(err, events.ErrCorrupt) || !strings.Contains(err.Error(), "500.2") || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s %+v: %v; want ErrCorrupt at 500.2 with %q", c.d.Type(), c.d, err, c.says)
		}
	}
}

// TestLineNamedTwice: an amendment may take from a line and give back to it.
func TestLineNamedTwice(t *testing.T) {
	f := everyMove(t)
	f.do("BOARD", "odile", &events.PlanAmended{Plan: "PL", Rev: 2, Changes: []events.PlanChange{{Carton: "C-01", Item: "MG3", Owner: "house", Delta: -4}, {Carton: "C-01", Item: "MG3", Owner: "house", Delta: 4}}})
	if c, _ := f.read().Contents("C-01"); c.Planned != 13 {
		t.Errorf("%d planned", c.Planned)
	}
}

func TestOrder(t *testing.T) {
	f := everyMove(t)
	fold := f.read()
	e := f.list[3]
	if err := fold.Apply(&e); !errors.Is(err, events.ErrCorrupt) || !strings.Contains(err.Error(), "comes after") {
		t.Errorf("an event from the past: %v", err)
	}
}
