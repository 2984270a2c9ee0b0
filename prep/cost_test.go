package prep

import (
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestUnitCostValues(t *testing.T) {
	for _, r := range checkRows(t, "cost.txt", "unit") {
		w := UnitWork{Worked: time.Duration(r.int(t, 1)) * time.Second, Materials: []MaterialUse{{FixedOf(1), Money(r.int(t, 2)) * MinorUnit}}}
		got := w.Cost(1650 * MinorUnit).Total().Tenths()
		if want := FixedOf(r.float(t, 3) * 10); Fixed(got)*1_000_000 != want {
			t.Errorf("%s: %s costs %d tenths, want %s", r.place, r.col[0], got, r.col[3])
		}
	}
}

func TestUnitCostParts(t *testing.T) {
	w := UnitWork{
		Worked: 110 * time.Second, Idle: 40 * time.Second, IdleCap: 20 * time.Second,
		Materials: []MaterialUse{{FixedOf(1.5), 24500}, {FixedOf(0.02), 100000}},
		Shared:    130000, InCarton: 12,
	}
	got := w.Cost(1650000)
	if want := (UnitCost{Labour: 41250, Materials: 36750 + 2000, Carton: 10833}); got != want || got.Total() != 90833 {
		t.Errorf("%+v, want %+v", got, want)
	}
	w.Idle = 10 * time.Second
	if got := w.Cost(1650000).Labour; got != 45833 {
		t.Errorf("idle below the cap: %v", got)
	}
	w.Idle, w.IdleCap, w.InCarton = time.Hour, time.Hour, 0
	if got := w.Cost(1650000); got.Labour != 0 || got.Carton != 0 {
		t.Errorf("nothing but idle: %+v", got)
	}
}

func TestLotCost(t *testing.T) {
	got, err := LotCost{Units: 24 * 115417, Spoiled: 2 * 900000, Recovered: 500000, Good: 22}.PerGood()
	if err != nil || got != (24*115417+1800000-500000+11)/22 {
		t.Errorf("%v, %v", got, err)
	}
	if _, err := (LotCost{Units: 1}).PerGood(); err == nil {
		t.Error("no good unit: there is no cost per good unit")
	}
}

// Two spans of time cost together what they cost apart, but for the one
// rounding of each.
func TestLabourCostAdds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ms := rapid.Int64Range(0, 100_000_000)
		a, b := time.Duration(ms.Draw(t, "a"))*time.Millisecond, time.Duration(ms.Draw(t, "b"))*time.Millisecond
		rate := Money(rapid.Int64Range(0, 100_000_000).Draw(t, "rate"))
		if d := LabourCost(a+b, rate) - LabourCost(a, rate) - LabourCost(b, rate); d < -1 || d > 1 {
			t.Fatalf("%v and %v at %v: off by %v", a, b, rate, d)
		}
	})
}
