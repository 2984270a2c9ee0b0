package prep

import (
	"strconv"
	"time"
)

// LabourCost is time at an hourly rate, rounded half away from zero to a
// thousandth of a minor unit.
func LabourCost(d time.Duration, perHour Money) Money {
	return perHour.Times(int64(d/time.Millisecond), int64(time.Hour/time.Millisecond))
}

// MaterialUse is one material of a recipe or of a unit: how much of it, in the
// catalogue's unit of that material, and the price of one.
type MaterialUse struct {
	Qty   Fixed `json:"qty"`
	Price Money `json:"price"`
}

// Cost is quantity times price.
func (u MaterialUse) Cost() Money { return u.Price.Times(int64(u.Qty), 1_000_000) }

// UnitWork is what went into one unit.
type UnitWork struct {
	Worked    time.Duration `json:"worked"`   // from taking it up to putting it down
	Idle      time.Duration `json:"idle"`     // of that, standing still
	IdleCap   time.Duration `json:"idle_cap"` // no more than this is taken off
	Materials []MaterialUse `json:"materials"`
	Shared    Money         `json:"shared"`    // carton, carton label, tape of the carton the unit is in
	InCarton  int           `json:"in_carton"` // units in that carton; 0 leaves Shared out
}

// UnitCost is the cost of preparing one unit.
type UnitCost struct {
	Labour    Money `json:"labour"`
	Materials Money `json:"materials"`
	Carton    Money `json:"carton"`
}

// Total is the sum of the parts.
func (c UnitCost) Total() Money { return c.Labour + c.Materials + c.Carton }

// Cost is (worked - capped idle) at the rate, the materials at their lot's
// price, and the unit's share of its carton.
func (w UnitWork) Cost(perHour Money) UnitCost {
	c := UnitCost{Labour: LabourCost(max(0, w.Worked-min(w.Idle, w.IdleCap)), perHour)}
	for _, u := range w.Materials {
		c.Materials += u.Cost()
	}
	if w.InCarton > 0 {
		c.Carton = w.Shared.Times(1, int64(w.InCarton))
	}
	return c
}

// LotCost is what a lot cost to prepare, spoiled units included.
type LotCost struct {
	Units     Money `json:"units"`     // all units' cost, the spoiled ones' too
	Spoiled   Money `json:"spoiled"`   // purchase cost of the spoiled units
	Recovered Money `json:"recovered"` // what diverted units brought back
	Good      int   `json:"good"`
}

// PerGood is the cost of the lot for each good unit:
// (units + spoiled - recovered) / good.
func (l LotCost) PerGood() (Money, error) {
	if l.Good <= 0 {
		return 0, Input("a lot with "+strconv.Itoa(l.Good)+" good units has no cost per good unit", "look at the cost of the whole lot")
	}
	return (l.Units + l.Spoiled - l.Recovered).Times(1, int64(l.Good)), nil
}
