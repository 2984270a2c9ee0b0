package workflow

import (
	"math"

	"packwright/prep"
)

// A carton's gross is tare, packing and units by the plan, each with a standard
// deviation of its own that does not depend on the others:
//
//	σ² = Σ n·σ_unit² + σ_tare² + σ_packing² + σ_scale²
//
// A reading alarms when it is off by more than T = min(w_min/2, 3σ), where w_min
// is the lightest unit on the plan: half of it lies as far from "all there" as
// from "one missing". Where 3σ is the smaller the alarm is the surer of not
// being false. The chance that one lightest unit missing goes unnoticed is
// Φ(−(w_min−T)/σ); a full carton alarms with chance 2Φ(−T/σ).

// vouches is the chance of missing one unit below which the scale is a witness
// of the number of pieces.
const vouches = 0.001

// expect is what a carton ought to weigh, in grams; sd 0: not known.
type expect struct {
	gross, sd, lightest float64
}

// expect works out a carton's gross by its plan. It is not known while a unit
// weight or the tare is missing.
func (f *Floor) expect(c *Carton) expect {
	w, lines := f.policy.Weighing, f.linesOf(c)
	x := expect{gross: (c.Tare + w.Packing).Grams(), lightest: math.Inf(1)}
	variance := square(w.TareSD) + square(w.PackingSD) + square(w.ScaleSD)
	for _, l := range lines {
		it := f.Items[l.Item]
		if it == nil || it.UnitG <= 0 {
			return expect{}
		}
		x.gross += float64(l.Q) * it.UnitG.Grams()
		variance += float64(l.Q) * square(unitSD(it))
		x.lightest = min(x.lightest, it.UnitG.Grams())
	}
	if c.Tare <= 0 || len(lines) == 0 {
		return expect{}
	}
	x.sd = math.Sqrt(variance)
	return x
}

// unitSD gives an item's standard deviation; until one was measured, 1.5 % of
// its weight and at least 1 g, as is common practice for hand-packed goods.
func unitSD(it *prep.Item) prep.Mass {
	if it.UnitSD > 0 {
		return it.UnitSD
	}
	return max(prep.Gram, it.UnitG*15/1000)
}

func square(m prep.Mass) float64 { return m.Grams() * m.Grams() }

// limit is T.
func (x expect) limit() float64 { return min(x.lightest/2, 3*x.sd) }

// z gives the residual in standard deviations; 0 when nothing is known.
func (x expect) z(gross prep.Mass) float64 {
	if x.sd == 0 {
		return 0
	}
	return (gross.Grams() - x.gross) / x.sd
}

// alarms says whether a reading is off by more than T.
func (x expect) alarms(gross prep.Mass) bool {
	return x.sd > 0 && math.Abs(gross.Grams()-x.gross) > x.limit()
}

// miss is the chance that one lightest unit missing goes unnoticed.
func (x expect) miss() float64 {
	if x.sd == 0 {
		return 1
	}
	return phi(-(x.lightest - x.limit()) / x.sd)
}

// tells says whether the scale can see one unit missing.
func (x expect) tells() bool { return x.miss() < vouches }

// phi is the standard normal distribution function.
func phi(x float64) float64 { return math.Erfc(-x/math.Sqrt2) / 2 }

// grams rounds grams to a mass.
func grams(g float64) prep.Mass { return prep.Mass(math.Round(g * float64(prep.Gram))) }
