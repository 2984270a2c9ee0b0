package prep

import (
	"math/big"
	"strconv"
)

// ZeroBadPlan is a plan that takes n pieces of a lot and accepts it only when
// none of them is bad.
type ZeroBadPlan struct {
	Lot        int   `json:"lot"`
	RuledOut   int   `json:"ruled_out"`  // this many bad pieces in the lot, or more, are ruled out
	Confidence Fixed `json:"confidence"` // asked for
	Sample     int   `json:"sample"`
	Reached    Fixed `json:"reached"` // reached by the sample, rounded down
}

// ZeroBad finds the smallest sample n of a lot of N with
//
//	1 - C(N-D, n) / C(N, n) ≥ confidence,
//
// the chance that at least one of D bad pieces is among n drawn without
// replacement (hypergeometric). All of it is exact integer arithmetic. One bad
// piece found means that the whole set is looked at.
func ZeroBad(lot, ruledOut int, confidence Fixed) (ZeroBadPlan, error) {
	if lot < 1 || lot > 10_000_000 || ruledOut < 1 || ruledOut > lot {
		return ZeroBadPlan{}, Input("a lot of "+strconv.Itoa(lot)+" with "+strconv.Itoa(ruledOut)+" bad to be ruled out is not possible",
			"give the pieces of the lot and at least one bad piece, not more than the lot")
	}
	if confidence <= 0 || confidence >= 1_000_000 {
		return ZeroBadPlan{}, Input("confidence "+confidence.String()+" is not between 0 and 1", "0.95 is usual")
	}
	allowed := big.NewRat(1_000_000-int64(confidence), 1_000_000)
	low, high := 1, lot-ruledOut+1 // that many hold a bad piece for certain
	for low < high {
		mid := (low + high) / 2
		if noneBad(lot, ruledOut, mid).Cmp(allowed) <= 0 {
			high = mid
		} else {
			low = mid + 1
		}
	}
	return ZeroBadPlan{
		Lot: lot, RuledOut: ruledOut, Confidence: confidence, Sample: low,
		Reached: roundDown(new(big.Rat).Sub(big.NewRat(1, 1), noneBad(lot, ruledOut, low))),
	}, nil
}

// noneBad is C(N-D, n)/C(N, n) = C(N-n, D)/C(N, D): the product over the
// smaller of n and D of (N - other - i)/(N - i).
func noneBad(lot, bad, n int) *big.Rat {
	few, many := min(n, bad), max(n, bad)
	num, den := big.NewInt(1), big.NewInt(1)
	for i := range few {
		if lot-many-i <= 0 {
			return new(big.Rat)
		}
		num.Mul(num, big.NewInt(int64(lot-many-i)))
		den.Mul(den, big.NewInt(int64(lot-i)))
	}
	return new(big.Rat).SetFrac(num, den)
}

func roundDown(r *big.Rat) Fixed {
	n := new(big.Int).Mul(r.Num(), big.NewInt(1_000_000))
	return Fixed(n.Div(n, r.Denom()).Int64())
}

// Statement says what a clean sample shows, and no more than that.
func (p ZeroBadPlan) Statement() string {
	percent := appendDecimal(nil, int64(p.Confidence), 4)
	return "0 of " + strconv.Itoa(p.Sample) + " bad rules out " + strconv.Itoa(p.RuledOut) + " or more bad of " + strconv.Itoa(p.Lot) +
		" at " + string(percent) + " %; it does not show that all are good. One bad found: look at the whole set."
}
