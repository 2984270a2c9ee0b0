package workflow

import (
	"packwright/prep"
)

// Lifting is how a closed carton is lifted from a bench, for the recommended
// weight limit of the revised NIOSH equation. HandsOut 0: nobody measured it,
// and only plain practice speaks (50 lb).
type Lifting struct {
	HandsOut  prep.Length // from the middle between the ankles forward to the hands
	HandsUp   prep.Length // from the floor up to the hands
	Travel    prep.Length // up or down, to where it is set
	PerMinute prep.Fixed
	Spell     string // short, moderate, long
	Coupling  string // good, fair, poor
}

// usualLifting is a plain carton lifted now and then: fair hold, short spells.
var usualLifting = Lifting{PerMinute: 200_000, Spell: string(prep.SpellShort), Coupling: string(prep.CouplingFair)}

// lift is the task of one carton.
func (l Lifting) lift(gross prep.Mass) prep.Lift {
	return prep.Lift{Load: gross, Origin: prep.LiftPlace{H: l.HandsOut, V: l.HandsUp}, Travel: l.Travel,
		PerMinute: l.PerMinute.Float(), Spell: prep.LiftSpell(l.Spell), Coupling: prep.Coupling(l.Coupling)}
}

// heavy says whether a carton is to say that two people lift it: above plain
// practice, or above the equation's limit at this bench in either of its unit
// systems. A caution: that it says nothing of a lighter one permits nothing.
func (p *Policy) heavy(gross prep.Mass) bool {
	if gross > prep.TeamLiftOver {
		return true
	}
	if p.Lifting.HandsOut == 0 {
		return false
	}
	for _, units := range []prep.LiftUnits{prep.LiftMetric, prep.LiftUS} {
		if r, err := p.Lifting.lift(gross).In(units); err != nil || !(r.LI <= 1) {
			return true
		}
	}
	return false
}

func (l *Lifting) settings() []prep.Setting {
	return []prep.Setting{
		{Name: "hands_out", Into: &l.HandsOut},
		{Name: "hands_up", Into: &l.HandsUp},
		{Name: "travel", Into: &l.Travel},
		{Name: "per_minute", Into: &l.PerMinute},
		{Name: "spell", Into: &l.Spell},
		{Name: "coupling", Into: &l.Coupling},
	}
}

func (r *Reorder) settings() []prep.Setting {
	return []prep.Setting{
		{Name: "at", Into: &r.At},
		{Name: "per_day", Into: &r.PerDay},
		{Name: "sd", Into: &r.SD},
		{Name: "days", Into: &r.Days},
		{Name: "z", Into: &r.Z},
	}
}

// problem says what of a reorder point cannot be so, or "".
func (r Reorder) problem() string {
	switch {
	case r.At < 0:
		return "a reorder point below nothing"
	case r.At > 0 && (r.SD != 0 || r.Days != 0 || r.Z != 0):
		return "a reorder point that is written, and worked out as well"
	}
	if _, err := r.demand().ReorderPoint(); err != nil {
		return err.Error()
	}
	if r.point() <= 0 {
		return "a reorder point of nothing"
	}
	return ""
}
