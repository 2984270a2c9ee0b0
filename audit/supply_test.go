package audit_test

import (
	"bytes"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"packwright/audit"
	"packwright/events"
	"packwright/prep"
)

// supplyDay: 12 window figures; the first 5 in wrap of BW-1, the next 3 of
// BW-2, the last 4 in a thicker wrap that stood in for it.
func supplyDay(t *testing.T) *floor {
	f := newFloor(t)
	item := prep.Item{Item: "MG3", Name: "figure"}
	window(t, &item)
	item.Trace = prep.TraceClass
	book := rules(t, 4, 2) // two sheets a figure
	book.Materials.Materials = append(book.Materials.Materials, prep.Material{ID: "wrap-5-16", Name: "thicker wrap", Kind: prep.KindWrap, Unit: "sheet", Thickness: 7938})
	f.do("BOARD", "odile", &events.ItemRegistered{Item: item})
	f.do("BOARD", "odile", &events.RulebookPublished{Rev: 4, Digest: book.Digest(), Rulebook: book, Effective: "new-runs"})
	f.rules = 4
	f.do("BOARD", "odile", &events.RateSet{Kind: events.LabourRate, Key: "bench", Minor: 1650_000, Per: "hour", From: at(t, "07:00")})
	f.do("BOARD", "odile", &events.RateSet{Kind: events.LabourRate, Key: "bench", Minor: 1700_000, Per: "hour", From: at(t, "12:00")})
	f.do("BOARD", "odile", &events.LotAnnounced{Lot: "L-1", Kind: "bought", Item: "MG3", Owner: "house", Qty: 12})
	f.do("BOARD", "maren", &events.LotReceived{Lot: "L-1", Item: "MG3", Tote: "T-1", Qty: 12})
	f.do("BOARD", "maren", &events.SupplyReceived{Material: "wrap-3-16", MatLot: "BW-1", Q: 100 * prep.One, Unit: "sheet", Cost: 1550_000})
	f.do("BOARD", "maren", &events.SupplyIssued{MatLot: "BW-1", Material: "wrap-3-16", Station: "ST-1", Q: 40 * prep.One})
	f.do("ST-1", "tobi", &events.UnitsTriaged{Lot: "L-1", Item: "MG3", Tote: "T-1", To: "T-1", Q: 12, Verdict: events.ToPrep})
	f.do("ST-1", "tobi", &events.RunOpened{Run: "R-1", Tote: "T-1", Lot: "L-1", Item: "MG3", Q: 12, Recipe: "window figure", RulesRev: 4, Clear: "yes"})
	f.do("ST-1", "tobi", &events.MaterialDrawn{Run: "R-1", Material: "wrap-3-16", MatLot: "BW-1"})
	made := func(q int) {
		f.do("ST-1", "tobi", &events.UnitsPrepped{Run: "R-1", Lot: "L-1", Item: "MG3", From: "T-1", To: "T-2", Q: q, Recipe: "window figure"})
	}
	made(7)
	f.do("ST-1", "tobi", &events.MaterialSwapped{Run: "R-1", Material: "wrap-3-16", From: "BW-1", To: "BW-2", AtUnit: 5})
	made(1)
	f.do("BOARD", "maren", &events.SupplyCounted{MatLot: "BW-1", Material: "wrap-3-16", Q: 88*prep.One + prep.One/2, By: "maren"})
	f.do("BOARD", "maren", &events.SupplySubstituted{Run: "R-1", Material: "wrap-3-16", By: "wrap-5-16", From: "BW-2", MatLot: "BL-9", AtUnit: 8, Allowed: "O-1"})
	made(4)
	f.do("BOARD", "maren", &events.MatLotBlocked{MatLot: "BW-2", Material: "wrap-3-16", Reason: "bursts", Runs: []events.Touched{{Run: "R-1", Lot: "L-1", Item: "MG3", Units: 3, Open: true}}},
		&events.SupplyLow{Material: "wrap-3-16", OnHand: 88*prep.One + prep.One/2, Reorder: 90 * prep.One})
	return f
}

func TestSupplies(t *testing.T) {
	f := supplyDay(t)
	if b := f.breaches(); len(b) > 0 {
		t.Fatal(b)
	}
	fold := f.read()
	counted, missing := 88*prep.One+prep.One/2, prep.One*3/2
	want := []audit.Supply{
		{MatLot: "BL-9", Material: "wrap-5-16", Used: 8 * prep.One, Runs: []string{"R-1"}},
		{MatLot: "BW-1", Material: "wrap-3-16", Unit: "sheet", Received: 100 * prep.One, Issued: 40 * prep.One, Used: 10 * prep.One, OnHand: counted,
			Counted: &counted, Missing: &missing, Cost: 1550_000, Runs: []string{"R-1"}},
		{MatLot: "BW-2", Material: "wrap-3-16", Used: 6 * prep.One, Blocked: "bursts", Runs: []string{"R-1"}},
	}
	got := fold.Supplies()
	if diff := cmp.Diff(want, got.Supplies); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
	var text bytes.Buffer
	if err := got.Text(&text); err != nil || !strings.Contains(text.String(), "BW-1 wrap-3-16: 88.5 sheet on hand of 100 received, 40 issued, 10 used by the recipes; last count 88.5, 1.5 fewer than expected; in R-1\n") ||
		!strings.Contains(text.String(), "order wrap-3-16: 88.5 on hand, reorder point 90\n") || !strings.Contains(text.String(), "BLOCKED: bursts") {
		t.Errorf("%v\n%s", err, &text)
	}
	var saved bytes.Buffer
	if err := fold.Save(&saved); err != nil {
		t.Fatal(err)
	}
	again, err := audit.Load(&saved)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(got, again.Supplies(), cmp.Comparer(func(a, b events.Time) bool { return a == b })); diff != "" {
		t.Errorf("after a snapshot:\n%s", diff)
	}
	for clock, want := range map[string]prep.Money{"11:59": 1650_000, "12:00": 1700_000} {
		if r, ok := fold.RateAt(events.LabourRate, "bench", at(t, clock)); !ok || r.Minor != want {
			t.Errorf("at %s an hour costs %s, %t", clock, r.Minor, ok)
		}
	}
	for _, e := range f.list {
		if e.Type() == "supply.substituted" && audit.Tell(&e) != "wrap-5-16 BL-9 in the place of wrap-3-16 from unit 9 of R-1 (O-1)" {
			t.Error(audit.Tell(&e))
		}
	}
	if _, ok := fold.RateAt(events.LabourRate, "bench", at(t, "06:59")); ok {
		t.Error("a rate holds before it begins")
	}
}
