package workflow

import (
	"strings"
	"testing"

	"packwright/events"
)

// pack takes a carton of marked or class units of one item to its seal.
func pack(tl *teller, carton, seal, tare, gross string, place ...string) {
	tl.t.Helper()
	tl.must("09:00 ST-2 ife open-carton carton=" + carton + " tare_g=" + tare)
	for _, p := range place {
		tl.must("09:01 ST-2 ife place carton=" + carton + " " + p)
	}
	tl.must("09:02 ST-2 ife finish-carton carton="+carton, "09:02 ST-2 ife weigh carton="+carton+" gross_g="+gross)
	total := 0
	for _, l := range tl.floor.linesOf(tl.floor.Cartons[carton]) {
		total += l.Q
	}
	if got := tl.says("09:03 ST-2 ife enter-count carton=%s total=%d", carton, total); got != "kept" {
		tl.t.Fatal(carton, got)
	}
	tl.must("09:03 ST-2 ife accept-count carton=" + carton)
	tl.floor.Cartons[carton].Label = true
	tl.must("09:04 ST-2 ife seal carton=" + carton + " seal_no=" + seal)
}

// TestSweep: what has left with a closed load leaves the floor's memory, and
// its codes stay taken; what has not left stays.
func TestSweep(t *testing.T) {
	tl := packingDay(t)
	f := tl.floor
	pack(tl, "C-01", "000401", "520", "5524", `marks=["M-0001..M-0012"]`)
	pack(tl, "C-02", "000402", "520", "5112", `marks=["M-0013","M-0014"]`, `marks=["M-0015..M-0023"]`)
	pack(tl, "C-07", "000403", "610", "12130", "item=PUZ q=15 from=T-24", "item=PLU q=6 from=T-25")
	tl.must("09:10 BOARD maren open-load load=LD-1",
		"09:11 ST-2 ife dispatch carton=C-01 seal_no_seen=000401", "09:11 ST-2 ife dispatch carton=C-02 seal_no_seen=000402")
	digest := f.Ledger.Digest()
	if !f.Spent.Has(23) || f.Units[23] == nil || f.Plans["P-1"].Dispatched != 23 {
		t.Error("dispatched: marks are spent, units remembered until the truck leaves, the plan counts 23")
	}
	tl.must("09:12 BOARD maren close-load load=LD-1")
	if f.Ledger.Digest() != digest {
		t.Error("forgetting changed the digest of the books")
	}
	for _, code := range []string{"C-01", "C-02", "LD-1", "L-01", "R-1"} {
		if f.Lots[code] != nil || f.Runs[code] != nil || f.Cartons[code] != nil || f.Loads[code] != nil || !f.Past[code] {
			t.Errorf("%s is still remembered, or its code is free", code)
		}
	}
	if len(f.Ledger.places["C-01"]) > 0 || f.Ledger.Cell(Key{"L-01", events.Dispatched, ""}) != nil {
		t.Error("the books still hold what has gone")
	}
	for _, m := range f.Units {
		if m.Run == "R-1" {
			t.Error("a unit of R-1 is still remembered")
		}
	}
	// L-02 has one piece left in T-02, never triaged; C-07 waits for the next truck.
	if f.Lots["L-02"] == nil || f.Runs["R-2"] == nil || f.Cartons["C-07"] == nil || f.Plans["P-1"] == nil {
		t.Error("something was forgotten that is still here")
	}
	for ask, want := range map[string]string{
		"BOARD maren open-load load=LD-1":              "no E-DSP-04",
		"BOARD maren cancel-dispatch carton=C-01":      "no E-DSP-05",
		"ST-2 ife open-carton carton=C-01":             "no E-SYS-07",
		`ST-2 ife place carton=C-01 marks=["M-0001"]`:  "no E-CAR-10",
		"BOARD maren announce lot=L-01 item=MG3 qty=1": "no E-INT-03",
	} {
		if got := tl.says("09:13 %s", ask); !strings.HasPrefix(got, want) {
			t.Errorf("%s: %s, want %s", ask, got, want)
		}
	}
}

// TestDispatchCancelled: a carton that comes back before the truck leaves is as it was.
func TestDispatchCancelled(t *testing.T) {
	tl := packingDay(t)
	f := tl.floor
	pack(tl, "C-02", "000402", "520", "5112", `marks=["M-0013","M-0014"]`, `marks=["M-0015..M-0023"]`)
	before, story := f.Ledger.Digest(), tl.carton("C-02")
	tl.must("09:10 BOARD maren open-load load=LD-1", "09:11 ST-2 ife dispatch carton=C-02 seal_no_seen=000402",
		"09:12 BOARD maren cancel-dispatch carton=C-02 reason=leaks")
	if after := tl.carton("C-02"); f.Ledger.Digest() != before || strings.Join(after, "\n") != strings.Join(story, "\n") {
		t.Errorf("came back as %q, was %q", after, story)
	}
	if f.Spent.Has(20) || len(f.Loads["LD-1"].Cartons) != 0 || f.Plans["P-1"].Dispatched != 0 {
		t.Error("still counted as gone")
	}
}
