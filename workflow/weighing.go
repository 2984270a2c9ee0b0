package workflow

import (
	"math"
	"slices"
	"time"

	"packwright/events"
	"packwright/prep"
)

// weighAsk keeps a reading. Its answer never says what was expected.
type weighAsk struct {
	cartonAsk
	Gross  prep.Mass `json:"gross_g"`
	Scale  string    `json:"scale"`  // empty: the only one there is
	Stable *bool     `json:"stable"` // not told: it was
	scale  *Scale
}

func (in *weighAsk) check() error {
	if in.Gross <= 0 {
		return prep.Input("a carton weighs something", "give gross_g over 0")
	}
	return nil
}

type checkScaleAsk struct {
	Scale string    `json:"scale"`
	Ref   prep.Mass `json:"ref_g"`
	Read  prep.Mass `json:"read_g"`
}

func (in *checkScaleAsk) check() error {
	if in.Scale == "" || in.Ref <= 0 {
		return prep.Input("a scale is checked with a weight that is known", "give scale, ref_g over 0, and read_g")
	}
	return nil
}

var weighRule = on(rule{Name: "weigh", Who: packers}, []gate[weighAsk]{
	onlineGate[weighAsk](),
	cartonIn[weighAsk]("a carton that is finished and not under seal", "E-CNT-06", CartonCounting, CartonCounted),
	{Gate{"a scale checked with a reference weight not long ago, and right", "E-CNT-04", ""}, func(d *decision, in *weighAsk) *Refusal {
		in.Scale = d.f.scaleOf(in.Scale)
		if in.scale = d.f.Scales[in.Scale]; in.scale == nil {
			return refuse("E-CNT-04", "never")
		}
		age := d.now.Sub(in.scale.Checked)
		if !in.scale.OK || age > time.Duration(d.f.policy.ScaleHours)*time.Hour {
			return refuse("E-CNT-04", when(in.scale.Checked, d.now))
		}
		return nil
	}},
	{Gate{"a reading that stands still", "E-CNT-03", ""}, func(d *decision, in *weighAsk) *Refusal {
		if in.Stable != nil && !*in.Stable {
			return refuse("E-CNT-03")
		}
		return nil
	}},
}, func(d *decision, in *weighAsk) {
	c, x := in.carton, d.f.expect(in.carton)
	e := d.emit(&events.CartonWeighed{Carton: c.Carton, Gross: in.Gross, Scale: in.Scale, Stable: true, Check: in.scale.Ref,
		Expected: grams(x.gross), SD: grams(x.sd), Z: prep.FixedOf(x.z(in.Gross)), Miss: prep.FixedOf(x.miss()), Alarm: x.alarms(in.Gross), House: d.f.policy.weighing()})
	if d.c.Basis == "" {
		e.Basis = events.ByScale
	}
	ev := d.f.evidence(c)
	ev.Weighed = &in.Gross
	if limit := d.f.destinationOf(c).MaxMass; limit > 0 && in.Gross > limit {
		d.raise(events.OverWeight, events.Scope{Carton: c.Carton}, ev, true)
		d.calls("E-SEA-03", in.Gross.String())
	}
	if x.alarms(in.Gross) {
		residual := in.Gross - grams(x.gross)
		ev.Residual = &residual
		d.offWeight(c, x, ev)
		d.calls("E-CNT-03")
	}
})

var checkScaleRule = on(rule{Name: "check-scale", Who: packers}, []gate[checkScaleAsk]{},
	func(d *decision, in *checkScaleAsk) {
		off := in.Read - in.Ref
		ok := max(off, -off) <= 3*d.f.policy.Weighing.ScaleSD
		d.emit(&events.ScaleChecked{Scale: in.Scale, Ref: in.Ref, Read: in.Read, OK: ok})
		if !ok {
			d.calls("E-CNT-10")
		}
	})

// scaleOf gives the scale named, or the only one.
func (f *Floor) scaleOf(named string) string {
	if named == "" && len(f.Scales) == 1 {
		for code := range f.Scales {
			return code
		}
	}
	return named
}

// when says a moment as a person would: the time, and the date when it is not today's.
func when(t, now events.Time) string {
	if y, m, d := t.Std().Date(); now.Std().Year() == y && now.Std().Month() == m && now.Std().Day() == d {
		return "at " + t.Clock()[:5]
	}
	return t.Std().Format("2006-01-02")
}

// offWeight raises what a scale says. Two cartons that are off by as much, one
// too heavy and one too light, are one matter: two pieces that changed places.
func (d *decision) offWeight(c *Carton, x expect, ev events.Evidence) {
	scope := events.Scope{Carton: c.Carton}
	if d.f.matterOn(c.Carton) == nil {
		if m := d.f.otherHalf(c, x, *ev.Residual); m != nil {
			d.follow(&events.MismatchSymptomAdded{Mismatch: m.Matter, Kind: events.Weight, Scope: scope, Evidence: ev})
			return
		}
	}
	d.raise(events.Weight, scope, ev, true)
}

// otherHalf finds an open weight matter on one other carton here whose residual
// is the opposite of this one, within three standard deviations of both, and
// whose pieces may have met these: the oldest.
func (f *Floor) otherHalf(c *Carton, x expect, residual prep.Mass) *Matter {
	var found *Matter
	for _, m := range f.Matters {
		if !m.Resolved.IsZero() || !m.Fixed.IsZero() || m.Kinds[0] != events.Weight || (m.Residual < 0) == (residual < 0) {
			continue
		}
		other := f.Cartons[m.Scopes[0].Carton]
		if other == nil || other == c || slices.ContainsFunc(m.Scopes, func(s events.Scope) bool { return s.Carton != other.Carton }) {
			continue
		}
		if math.Abs((residual+m.Residual).Grams()) > 3*math.Hypot(x.sd, f.expect(other).sd) || !f.met(c, other) {
			continue
		}
		if found == nil || m.Raised.Before(found.Raised) || m.Raised == found.Raised && m.Matter < found.Matter {
			found = m
		}
	}
	return found
}

// met says whether pieces of two cartons may have changed places: they hold the
// same item, or some were prepped at the same bench.
func (f *Floor) met(a, b *Carton) bool {
	for _, l := range f.scannedLines(a) {
		if f.scanned(b, l.Item) > 0 {
			return true
		}
	}
	for _, x := range a.Runs {
		for _, y := range b.Runs {
			if r, s := f.Runs[x], f.Runs[y]; r != nil && s != nil && r.Station == s.Station {
				return true
			}
		}
	}
	return false
}
