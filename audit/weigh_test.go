package audit_test

import (
	"math"
	"strings"
	"testing"

	"packwright/audit"
	"packwright/prep"
)

func tenths(g float64) prep.Mass { return prep.Mass(math.Round(g * 1000)) }

// TestExpectedWeights holds the fourteen cartons of the day against values
// worked out before, to the digits shown.
func TestExpectedWeights(t *testing.T) {
	for _, c := range []struct {
		carton   string
		mean, sd float64
		first, z float64
		alarm    bool
	}{
		{"C-01", 5524, 12.4, 5530, 0.5, false}, {"C-02", 5112, 12.0, 5165, 4.4, true}, {"C-03", 6100, 12.4, 6049, -4.1, true},
		{"C-04", 6100, 12.4, 6091, -0.7, false}, {"C-05", 5995, 20.5, 6006, 0.5, false}, {"C-06", 5995, 20.5, 5991, -0.2, false},
		{"C-07", 12130, 32.7, 11827, -9.3, true}, {"C-08", 11490, 32.2, 11503, 0.4, false}, {"C-09", 3010, 10.0, 3013, 0.3, false},
		{"C-10", 2998, 9.9, 2993, -0.5, false}, {"C-11", 3706, 9.9, 3710, 0.4, false}, {"C-12", 11530, 28.5, 11515, -0.5, false},
		{"C-13", 6564, 17.8, 6572, 0.4, false}, {"C-14", 4212, 26.6, 4200, -0.5, false},
	} {
		d := carton(c.carton)
		var lines []audit.MassLine
		for _, l := range d.lines {
			for _, it := range dayItems {
				if it.item == l.item {
					lines = append(lines, audit.MassLine{Item: l.item, N: l.q, Mean: prep.Mass(it.g) * 100, SD: prep.Mass(it.sd) * 100})
				}
			}
		}
		e := audit.DefaultScale.Expect(lines, prep.Mass(d.tare)*prep.Gram)
		w := e.Assess(tenths(c.first))
		if !e.Known || e.Mean != tenths(c.mean) || math.Abs(e.SD.Grams()-c.sd) > 0.051 {
			t.Errorf("%s: %s ± %s, want %v ± %v", c.carton, e.Mean, e.SD, c.mean, c.sd)
		}
		if math.Abs(w.Z.Float()-c.z) > 0.06 || w.Alarm != c.alarm || w.Residual != tenths(c.first-c.mean) {
			t.Errorf("%s: z %v, alarm %v", c.carton, w.Z, w.Alarm)
		}
	}
}

// TestPower: what the scale can see. The values are of the same formulas in
// another program, at full precision.
func TestPower(t *testing.T) {
	for _, c := range []struct {
		name           string
		lightest, sd   float64
		miss, falseAl  float64
		within         float64
		limit          float64
		vouches, alarm bool
	}{
		{"discs", 118, 9.9, 0, 0.0027, 1e-6, 29.7, true, false},
		{"plush", 310, 32.7, 5e-11, 0.0027, 1e-6, 98.1, true, false},
		{"bundles", 96, 26.6, 0.0356, 0.0712, 0.0003, 48, false, false},
	} {
		e := audit.Expected{Mean: 4 * prep.Kilogram, SD: tenths(c.sd), Lightest: tenths(c.lightest), Known: true}
		w := e.Assess(4 * prep.Kilogram)
		if w.Limit != tenths(c.limit) || math.Abs(w.Miss.Float()-c.miss) > c.within || math.Abs(w.FalseAlarm.Float()-c.falseAl) > 0.0003 || w.Vouches != c.vouches || w.Alarm {
			t.Errorf("%s: limit %s, miss %v, false alarm %v, vouches %v", c.name, w.Limit, w.Miss, w.FalseAlarm, w.Vouches)
		}
		if says := w.Words(); strings.HasPrefix(says, "this scale cannot vouch for this carton") == c.vouches {
			t.Errorf("%s: %s", c.name, says)
		}
	}
	// One unit less, at three times its mean, always alarms; the limit itself does not.
	e := audit.Expected{Mean: 4 * prep.Kilogram, SD: 10 * prep.Gram, Lightest: 100 * prep.Gram, Known: true}
	for gross, alarm := range map[prep.Mass]bool{3900: true, 3970: false, 3969: true, 4030: false, 4031: true, 4000: false} {
		if w := e.Assess(gross * prep.Gram); w.Alarm != alarm {
			t.Errorf("%d g: alarm %v, limit %s", gross, w.Alarm, w.Limit)
		}
	}
}

// TestWeighWithoutKnowing: no mass, no verdict; no deviation, only advice.
func TestWeighWithoutKnowing(t *testing.T) {
	e := audit.DefaultScale.Expect([]audit.MassLine{{Item: "NEW", N: 3}}, 500*prep.Gram)
	w := e.Assess(2 * prep.Kilogram)
	if e.Known || w.Alarm || w.Vouches || w.Z != 0 || !strings.Contains(w.Words(), "never weighed") {
		t.Errorf("%+v", w)
	}
	if e := audit.DefaultScale.Expect(nil, 500*prep.Gram); e.Known {
		t.Error("an empty carton has an expected weight")
	}
	e = audit.DefaultScale.Expect([]audit.MassLine{{Item: "A", N: 2, Mean: 1000 * prep.Gram}, {Item: "B", N: 1, Mean: 40 * prep.Gram}}, 0)
	// sd of A is 15 g (1.5 %), of B 1 g (the least): 2·225 + 1 + 16 + 25 + 4.
	if want := math.Sqrt(496); math.Abs(e.SD.Grams()-want) > 0.001 || len(e.Advisory) != 2 || e.Lightest != 40*prep.Gram {
		t.Errorf("%+v, want sd %v", e, want)
	}
}
