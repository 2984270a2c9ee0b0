package prep

import (
	"math"
	"strconv"
	"time"
)

// The revised lifting equation of NIOSH (Applications Manual, DHHS (NIOSH)
// Publication 94-110, revised 9/2021, public domain):
//
//	RWL = LC·HM·VM·DM·AM·FM·CM        LI = load / RWL
//
// The manual states it in two unit systems with rounded constants of their own;
// each is worked out here as printed, at full precision, and the two differ a
// little for one lift. Where the manual's tables of HM and DM disagree with its
// formulas (three cells) the formulas govern.
//
// What comes out is a caution for a person to weigh. It is never a permission:
// see LiftLimits for the lifts the equation does not speak about.

// LiftUnits is the manual's unit system.
type LiftUnits string

// The unit systems.
const (
	LiftUS     LiftUnits = "us"     // inches and pounds
	LiftMetric LiftUnits = "metric" // centimetres and kilograms
)

// Coupling is how well the hands hold the load (Table 7).
type Coupling string

// The couplings. A plain closed carton without handles is fair at best.
const (
	CouplingGood Coupling = "good"
	CouplingFair Coupling = "fair"
	CouplingPoor Coupling = "poor"
)

// LiftSpell is how long lifting goes on between recoveries (Table 5).
type LiftSpell string

// The spells; SpellOf chooses one from minutes of work and rest.
const (
	SpellShort    LiftSpell = "short"    // up to 1 h, then rest of as long
	SpellModerate LiftSpell = "moderate" // up to 2 h, then rest of 0.3 times as long
	SpellLong     LiftSpell = "long"     // up to 8 h
)

// LiftPlace is where the hands are at one end of a lift.
type LiftPlace struct {
	H     Length  `json:"h_mm"`  // from the middle between the ankles forward to the hands
	V     Length  `json:"v_mm"`  // from the floor up to the hands
	Angle float64 `json:"a_deg"` // the load away from straight ahead
}

// Lift is one lifting task.
type Lift struct {
	Load        Mass       `json:"load_g"`
	Origin      LiftPlace  `json:"origin"`
	Destination *LiftPlace `json:"destination,omitempty"` // only when setting down takes significant control
	Travel      Length     `json:"d_mm"`                  // between origin and destination, up or down
	PerMinute   float64    `json:"per_minute"`
	Spell       LiftSpell  `json:"spell"`
	Coupling    Coupling   `json:"coupling"`
}

// LiftIndex is load over recommended limit: +Inf, and null in JSON, when no load
// is recommended at all.
type LiftIndex float64

func (i LiftIndex) MarshalJSON() ([]byte, error) {
	if math.IsInf(float64(i), 0) || math.IsNaN(float64(i)) {
		return []byte("null"), nil
	}
	return strconv.AppendFloat(nil, float64(i), 'g', -1, 64), nil
}

// LiftAt is the equation at one end, in pounds or kilograms.
type LiftAt struct {
	HM  float64   `json:"hm"`
	VM  float64   `json:"vm"`
	DM  float64   `json:"dm"`
	AM  float64   `json:"am"`
	FM  float64   `json:"fm"`
	CM  float64   `json:"cm"`
	RWL float64   `json:"rwl"`
	LI  LiftIndex `json:"li"`
}

// LiftResult is the equation for one task. The lower RWL of the two ends governs.
type LiftResult struct {
	Units       LiftUnits `json:"units"`
	Load        float64   `json:"load"`
	Origin      LiftAt    `json:"origin"`
	Destination *LiftAt   `json:"destination,omitempty"`
	Governs     string    `json:"governs"` // "origin" or "destination"
	RWL         float64   `json:"rwl"`
	LI          LiftIndex `json:"li"`
}

// liftForm holds the constants of one unit system, as printed.
type liftForm struct {
	unit                 Length // of H, V, D
	kilogram             bool
	load                 float64
	hNear, hFar          float64
	vSlope, vBest, vTop  float64
	dConst, dLeast, dTop float64
}

var liftForms = map[LiftUnits]liftForm{
	LiftUS:     {unit: Inch, load: 51, hNear: 10, hFar: 25, vSlope: .0075, vBest: 30, vTop: 70, dConst: 1.8, dLeast: 10, dTop: 70},
	LiftMetric: {unit: CM, kilogram: true, load: 23, hNear: 25, hFar: 63, vSlope: .003, vBest: 75, vTop: 175, dConst: 4.5, dLeast: 25, dTop: 175},
}

// In works out the task in one unit system. It refuses what the equation does
// not cover.
func (l Lift) In(units LiftUnits) (LiftResult, error) {
	form, ok := liftForms[units]
	if !ok {
		return LiftResult{}, Input("unit system "+string(units)+" is not known", "take us or metric")
	}
	if err := l.check(); err != nil {
		return LiftResult{}, err
	}
	r := LiftResult{Units: units, Load: l.Load.Pounds(), Governs: "origin"}
	if form.kilogram {
		r.Load = l.Load.Grams() / 1000
	}
	fm := FrequencyMultiplier(l.PerMinute, l.Spell, form.in(l.Origin.V) >= form.vBest)
	r.Origin = form.at(l, l.Origin, fm, r.Load)
	r.RWL, r.LI = r.Origin.RWL, r.Origin.LI
	if l.Destination != nil {
		d := form.at(l, *l.Destination, fm, r.Load)
		r.Destination = &d
		if d.RWL < r.RWL {
			r.Governs, r.RWL, r.LI = "destination", d.RWL, d.LI
		}
	}
	return r, nil
}

func (f liftForm) in(l Length) float64 { return float64(l) / float64(f.unit) }

// at evaluates one end. The frequency multiplier is that of the origin's
// height; the coupling's is that of the end's own.
func (f liftForm) at(l Lift, p LiftPlace, fm, load float64) LiftAt {
	h, v, d := f.in(p.H), f.in(p.V), f.in(l.Travel)
	a := LiftAt{FM: fm, CM: couplingMultiplier(l.Coupling, v >= f.vBest)}
	if h <= f.hFar {
		a.HM = f.hNear / max(h, f.hNear)
	}
	if v <= f.vTop {
		a.VM = 1 - f.vSlope*math.Abs(v-f.vBest)
	}
	if d <= f.dTop {
		a.DM = .82 + f.dConst/max(d, f.dLeast)
	}
	if p.Angle <= 135 {
		a.AM = 1 - .0032*p.Angle
	}
	a.RWL = f.load * a.HM * a.VM * a.DM * a.AM * a.FM * a.CM
	a.LI = LiftIndex(load / a.RWL)
	return a
}

func (l Lift) check() error {
	places := []LiftPlace{l.Origin}
	if l.Destination != nil {
		places = append(places, *l.Destination)
	}
	for _, p := range places {
		if p.H <= 0 || p.V < 0 || !(p.Angle >= 0 && p.Angle <= 180) {
			return Input("a place of the lift is not possible", "give the distance forward, the height from the floor and an angle of 0 to 180 degrees")
		}
	}
	if l.Load <= 0 || l.Travel < 0 || !(l.PerMinute >= 0) {
		return Input("load, travel or lifts per minute are not possible", "give the gross weight, the height between the two places and how often")
	}
	if spellColumn(l.Spell) < 0 {
		return Input("spell "+string(l.Spell)+" is not known", "take short, moderate or long")
	}
	if couplingMultiplier(l.Coupling, true) == 0 {
		return Input("coupling "+string(l.Coupling)+" is not known", "take good, fair or poor")
	}
	return nil
}

// SpellOf chooses the spell from the time of lifting and the rest after it:
// up to 1 h with rest of as long, up to 2 h with rest of 0.3 times as long, else
// up to 8 h. More than that the equation does not cover.
func SpellOf(work, rest time.Duration) (LiftSpell, error) {
	switch {
	case work <= 0 || work > 8*time.Hour:
		return "", Input("lifting for "+work.String()+" is not covered", "the equation holds for up to 8 hours a day")
	case work <= time.Hour && rest >= work:
		return SpellShort, nil
	case work <= 2*time.Hour && 10*rest >= 3*work:
		return SpellModerate, nil
	}
	return SpellLong, nil
}

// SessionFrequency spreads lifting that does not go on for all of 15 minutes:
// 10 lifts a minute for 8 minutes of 15 count as 5.33 a minute (manual, p. 16).
func SessionFrequency(perMinute, minutesOf15 float64) float64 { return perMinute * minutesOf15 / 15 }

// HorizontalEstimate is the manual's estimate of H when it cannot be measured,
// for a load of this depth front to back: 8 in + half of it, 10 in + half when
// the hands are below 10 in.
func HorizontalEstimate(depth, v Length) Length {
	if v >= 10*Inch {
		return 8*Inch + depth/2
	}
	return 10*Inch + depth/2
}
