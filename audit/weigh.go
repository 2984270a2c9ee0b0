package audit

import (
	"fmt"
	"math"

	"packwright/events"
	"packwright/prep"
)

// Scale is what is taken to be true of weighing at this floor, beside the units
// themselves: masses, each with its standard deviation.
type Scale struct {
	Packing   prep.Mass `json:"packing_g"`
	PackingSD prep.Mass `json:"packing_sd_g"`
	ScaleSD   prep.Mass `json:"scale_sd_g"`
	TareSD    prep.Mass `json:"tare_sd_g"`
}

// DefaultScale holds for a weighing that says nothing else.
var DefaultScale = Scale(events.DefaultWeights)

// MassLine is n units of one item: the mean mass of a prepped unit and its deviation.
type MassLine struct {
	Item string
	N    int
	Mean prep.Mass
	SD   prep.Mass // 0: not measured; the default of max(1 g, 1.5 %) is taken
}

// Expected is what a full carton should weigh.
type Expected struct {
	Mean     prep.Mass `json:"expected_g"`
	SD       prep.Mass `json:"sd_g"`
	Lightest prep.Mass `json:"lightest_g"` // the lightest unit in the carton
	Known    bool      `json:"known"`      // false: some item has no mass yet
	// Advisory names items whose deviation was never measured: the reading is
	// then advice, not proof.
	Advisory []string `json:"advisory,omitempty"`
}

// Expect works out the gross mass of a carton with these units:
//
//	mean = Σ n·unit + tare + packing
//	σ²   = Σ n·σ_unit² + σ_tare² + σ_packing² + σ_scale²
//
// Deviations are taken as independent of one another.
func (s Scale) Expect(lines []MassLine, tare prep.Mass) Expected {
	e := Expected{Mean: tare + s.Packing, Known: len(lines) > 0}
	variance := square(s.TareSD) + square(s.PackingSD) + square(s.ScaleSD)
	for _, l := range lines {
		if l.N < 1 {
			continue
		}
		if l.Mean <= 0 {
			e.Known = false
			continue
		}
		sd := l.SD
		if sd <= 0 {
			sd = max(prep.Gram, l.Mean*15/1000)
			e.Advisory = append(e.Advisory, l.Item)
		}
		e.Mean += prep.Mass(l.N) * l.Mean
		variance += float64(l.N) * square(sd)
		if e.Lightest == 0 || l.Mean < e.Lightest {
			e.Lightest = l.Mean
		}
	}
	e.SD = prep.Mass(math.Round(math.Sqrt(variance) * 1000))
	e.Known = e.Known && e.Lightest > 0
	return e
}

func square(m prep.Mass) float64 { return m.Grams() * m.Grams() }

// Weight is a reading against what was expected, and how much it can prove.
type Weight struct {
	Gross prep.Mass `json:"gross_g"`
	Expected
	Residual prep.Mass  `json:"residual_g"` // gross less expected
	Z        prep.Fixed `json:"z"`          // residual over deviation
	Limit    prep.Mass  `json:"limit_g"`    // alarm beyond this residual, either way
	Alarm    bool       `json:"alarm"`
	// Miss is the chance that one lightest unit missing gives no alarm;
	// FalseAlarm the chance of an alarm from a good carton.
	Miss       prep.Fixed `json:"miss"`
	FalseAlarm prep.Fixed `json:"false_alarm"`
	// Vouches says that the scale sees one lightest unit: Miss is under 0.1 %.
	Vouches bool        `json:"vouches"`
	At      events.Time `json:"at,omitzero"`
	Scale   string      `json:"scale,omitempty"`
	Place   events.Seq  `json:"seq,omitzero"`
}

// MissLimit is the chance of missing one unit above which the scale cannot
// vouch for a carton.
const MissLimit = 0.001

// Assess compares a reading with what was expected. The alarm limit T is the
// smaller of half the lightest unit and three deviations; with Φ the normal
// distribution function, miss = Φ(−(w−T)/σ) and false alarm = 2Φ(−T/σ).
func (e Expected) Assess(gross prep.Mass) Weight {
	w := Weight{Gross: gross, Expected: e}
	if !e.Known || e.SD <= 0 {
		return w
	}
	sd := e.SD.Grams()
	w.Residual = gross - e.Mean
	w.Z = prep.FixedOf(w.Residual.Grams() / sd)
	w.Limit = min(e.Lightest/2, 3*e.SD)
	w.Alarm = w.Residual > w.Limit || -w.Residual > w.Limit
	miss := phi(-(e.Lightest - w.Limit).Grams() / sd)
	w.Miss = prep.FixedOf(miss)
	w.FalseAlarm = prep.FixedOf(2 * phi(-w.Limit.Grams()/sd))
	w.Vouches = miss < MissLimit
	return w
}

// phi is the distribution function of the standard normal.
func phi(x float64) float64 { return math.Erfc(-x/math.Sqrt2) / 2 }

// Words says what the reading can prove, in a sentence.
func (w Weight) Words() string {
	switch {
	case !w.Known:
		return "no expected weight: an item here was never weighed"
	case !w.Vouches:
		return fmt.Sprintf("this scale cannot vouch for this carton: it would miss one unit of %s in %s of cases; count by hand", grams(w.Lightest), percent(w.Miss))
	case w.Alarm:
		return fmt.Sprintf("outside ±%s: something is missing, too many or exchanged", grams(w.Limit))
	}
	return fmt.Sprintf("inside ±%s; one unit missing would be seen", grams(w.Limit))
}

// grams writes a mass in grams, to a tenth: what a bench scale reads.
func grams(m prep.Mass) string {
	tenth := math.Round(m.Grams()*10) / 10
	if tenth == math.Trunc(tenth) {
		return fmt.Sprintf("%.0f g", tenth)
	}
	return fmt.Sprintf("%.1f g", tenth)
}

func percent(p prep.Fixed) string { return fmt.Sprintf("%.1f %%", p.Float()*100) }

// weighing is one reading as the log keeps it, with the auditor's own
// expectation by the plan and the masses then in force.
type weighing struct {
	Fact   fact
	Gross  prep.Mass
	Scale  name
	Stable bool
	// When the scale was last checked before, and whether it was right.
	Checked stamp
	Right   bool
	Said    said
	Own     Expected
}

// said is what the decider wrote beside a reading.
type said struct {
	Expected, SD prep.Mass
	Z            prep.Fixed
}

// expect works out what the carton should weigh by the plan in force.
func (f *Fold) expect(c *carton) Expected {
	var lines []MassLine
	for _, l := range c.Lines {
		if l.Q > 0 {
			it := f.items[f.names.text(l.Item)]
			lines = append(lines, MassLine{f.names.text(l.Item), l.Q, it.UnitG, it.UnitSD})
		}
	}
	return f.sizes.Expect(lines, c.Tare)
}

// weight gives the carton's last reading: while it is open by the plan and the
// masses of now, once it is sealed by those of then. Nil when never weighed.
func (f *Fold) weight(c *carton) *Weight {
	if len(c.Weighs) == 0 {
		return nil
	}
	last := c.Weighs[len(c.Weighs)-1]
	own := last.Own
	if c.State != Sealed && c.State != Dispatched {
		own = f.expect(c)
	}
	w := own.Assess(last.Gross)
	w.At, w.Scale, w.Place = last.Fact.At.time(), f.names.text(last.Scale), last.Fact.Ref.seq()
	return &w
}
