package audit_test

import (
	"bytes"
	"strings"
	"testing"

	"packwright/audit"
	"packwright/events"
	"packwright/prep"
)

// TestBacktest: the day's figures were wrapped in one layer (r4) and in two
// (r5). A book of two layers changes the first kind alone.
func TestBacktest(t *testing.T) {
	f := lanternDay(t)
	fold := f.read()
	made := map[int]int{}
	for _, e := range f.list {
		if d, ok := e.Data.(*events.UnitsPrepped); ok && (d.Item == "MG3" || d.Item == "MG4") {
			made[e.RulesRev] += d.Q
		}
	}
	two := rules(t, 6, 2)
	two.Materials.Materials[0].Price = 16 * prep.MinorUnit
	got := fold.Backtest(&two, 1650*prep.MinorUnit)
	if got.Changed == 0 || got.Changed > made[4]+made[5] || len(got.Items) == 0 || got.Stopped != 0 {
		t.Fatalf("%+v; made by revision %v", got, made)
	}
	units, cost := 0, prep.Money(0)
	for _, x := range got.Items {
		if x.Rev != 4 || x.Verdict != prep.VerdictPrep {
			t.Errorf("%+v", x)
		}
		units += x.Units
		cost += (x.ToCost - x.FromCost) * prep.Money(x.Units)
	}
	if units != got.Changed || cost != got.Materials {
		t.Errorf("%d units for %s in the parts, %d for %s in all", units, cost, got.Changed, got.Materials)
	}
	// What was worked in two layers tells how long that takes.
	if got.Timed != got.Changed || got.Items[0].To == nil {
		t.Errorf("labour %s of %d units", got.Labour, got.Timed)
	}
	same := rules(t, 7, 1)
	for _, x := range fold.Backtest(&same, 0).Items {
		if x.Rev != 5 {
			t.Errorf("one layer again changes units of r%d", x.Rev)
		}
	}
	var text bytes.Buffer
	if err := got.Text(&text); err != nil || !strings.Contains(text.String(), "would get another recipe") {
		t.Errorf("%v\n%s", err, &text)
	}
}

// TestBacktestComplaints: a complaint about a unit of the changed set is inside.
func TestBacktestComplaints(t *testing.T) {
	f := lanternDay(t)
	fold := f.read()
	two := rules(t, 6, 2)
	got := fold.Backtest(&two, 0)
	if len(got.Complaints) == 0 {
		f.do("BOARD", "maren", &events.ClaimOpened{Claim: "Q-1", Kind: "damaged", Qty: 1, Given: events.ClaimGiven{Item: "PLU"}})
		f.do("BOARD", "maren", &events.ClaimOpened{Claim: "Q-2", Kind: "damaged", Qty: 2, Given: events.ClaimGiven{Mark: firstMark(f)}})
		f.do("BOARD", "maren", &events.ClaimOpened{Claim: "Q-3", Kind: "damaged", Qty: 1, Given: events.ClaimGiven{Item: "nothing known"}})
		got = f.read().Backtest(&two, 0)
	}
	is := map[string]audit.BacktestClaim{}
	for _, c := range got.Complaints {
		is[c.Claim] = c
	}
	if is["Q-1"].Is != "outside" || is["Q-2"].Is != "inside" || is["Q-3"].Is != "unsure" || got.Complained["inside"] != 2 {
		t.Errorf("%+v", got.Complaints)
	}
}

// firstMark is the first mark of a figure no. 3, all of which were made by r4.
func firstMark(f *floor) prep.Mark {
	for _, e := range f.list {
		if d, ok := e.Data.(*events.UnitsPrepped); ok && len(d.Marks) > 0 && d.Item == "MG3" {
			return d.Marks[0]
		}
	}
	return 0
}
