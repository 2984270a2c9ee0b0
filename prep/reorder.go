package prep

import (
	"math"
	"strconv"
)

// Demand is how a material is used up and how long new stock takes to come.
type Demand struct {
	PerDay Fixed `json:"per_day"`
	SD     Fixed `json:"sd"`   // of one day's use
	Days   Fixed `json:"days"` // from the order to its arrival
	Z      Fixed `json:"z"`    // 1.645: in one order of twenty it runs out before
}

// ReorderPoint is the stock at which new stock is ordered,
//
//	d·L + z·σ·√L, rounded up to a whole unit,
//
// for days of use that do not depend on one another. It knows nothing of a
// season, of a large order to come, or of a maker who is late.
func (d Demand) ReorderPoint() (Fixed, error) {
	if d.PerDay < 0 || d.SD < 0 || d.Days < 0 || d.Z < 0 {
		return 0, Input("a use of "+d.PerDay.String()+" a day ± "+d.SD.String()+" over "+d.Days.String()+" days at z "+d.Z.String()+" is not possible",
			"give numbers from 0 on")
	}
	x := d.PerDay.Float()*d.Days.Float() + d.Z.Float()*d.SD.Float()*math.Sqrt(d.Days.Float())
	// A point that is whole but for the last sign of the arithmetic is whole.
	whole := math.Ceil(x - 1e-9)
	if whole > 1e12 {
		return 0, Input("a reorder point of "+strconv.FormatFloat(x, 'g', 4, 64)+" is more than any store holds", "look at the numbers again")
	}
	return Fixed(whole) * One, nil
}

// Lasts says for how many days a stock is enough at the use of one day; false
// when nothing is used.
func (d Demand) Lasts(stock Fixed) (Fixed, bool) {
	if d.PerDay <= 0 {
		return 0, false
	}
	return Fixed(mulDiv(int64(stock), int64(One), int64(d.PerDay))), true
}
