package workflow

import (
	"math"
	"testing"

	"packwright/events"
	"packwright/prep"
)

// demoWeights are the prepped mean and standard deviation in grams.
var demoWeights = map[string][2]float64{
	"MG3": {412, 3}, "MG4": {460, 3}, "TRY": {355, 5}, "PUZ": {640, 6}, "GLD": {180, 2}, "DSC": {118, 1.5},
	"PLU": {310, 9}, "MUG": {905, 8}, "WSH": {352, 4}, "KNF": {150, 1.5}, "BND": {96, 1},
}

// TestExpectedWeights holds the arithmetic against fourteen cartons worked out
// by another program.
func TestExpectedWeights(t *testing.T) {
	for _, c := range []struct {
		carton    string
		tare      float64
		lines     map[string]int
		gross, sd float64
		read, z   float64 // z 0: inside its limit
	}{
		{"C-01", 520, map[string]int{"MG3": 12}, 5524, 12.4, 5530, 0},
		{"C-02", 520, map[string]int{"MG3": 11}, 5112, 12.0, 5165, 4.4},
		{"C-03", 520, map[string]int{"MG4": 12}, 6100, 12.4, 6049, -4.1},
		{"C-04", 520, map[string]int{"MG4": 12}, 6100, 12.4, 6091, 0},
		{"C-05", 610, map[string]int{"TRY": 15}, 5995, 20.5, 6006, 0},
		{"C-07", 610, map[string]int{"PUZ": 15, "PLU": 6}, 12130, 32.7, 11827, -9.3},
		{"C-08", 610, map[string]int{"PUZ": 14, "PLU": 6}, 11490, 32.2, 11503, 0},
		{"C-09", 430, map[string]int{"GLD": 14}, 3010, 10.0, 3013, 0},
		{"C-10", 430, map[string]int{"GLD": 10, "DSC": 6}, 2998, 9.9, 2993, 0},
		{"C-11", 430, map[string]int{"DSC": 12, "KNF": 12}, 3706, 9.9, 3710, 0},
		{"C-12", 610, map[string]int{"MUG": 12}, 11530, 28.5, 11515, 0},
		{"C-13", 520, map[string]int{"WSH": 17}, 6564, 17.8, 6572, 0},
		{"C-14", 520, map[string]int{"PLU": 8, "BND": 12}, 4212, 26.6, 4200, 0},
	} {
		x := expected(c.carton, c.tare, c.lines)
		if x.gross != c.gross || math.Abs(x.sd-c.sd) > 0.051 {
			t.Errorf("%s: %.1f g, sd %.2f; want %.0f, %.1f", c.carton, x.gross, x.sd, c.gross, c.sd)
		}
		if x.alarms(grams(c.read)) != (c.z != 0) {
			t.Errorf("%s: %.0f g alarms %t", c.carton, c.read, c.z == 0)
		}
		if c.z != 0 && math.Abs(x.z(grams(c.read))-c.z) > 0.05 {
			t.Errorf("%s: z %.2f, want %.1f", c.carton, x.z(grams(c.read)), c.z)
		}
	}
}

// TestPower: what the scale can and cannot see.
func TestPower(t *testing.T) {
	plush := expected("C-07", 610, map[string]int{"PUZ": 15, "PLU": 6})
	if m := plush.miss(); m < 4.5e-11 || m > 5.5e-11 {
		t.Errorf("one plush of C-07 missing goes unnoticed with chance %g, want 5e-11", m)
	}
	disc := expected("C-10", 430, map[string]int{"GLD": 10, "DSC": 6})
	if m := disc.miss(); m > 1e-6 || !disc.tells() {
		t.Errorf("one disc of C-10 missing goes unnoticed with chance %g", m)
	}
	bundle := expected("C-14", 520, map[string]int{"PLU": 8, "BND": 12})
	if m := bundle.miss(); math.Abs(m-0.035) > 0.0010 || bundle.tells() {
		t.Errorf("one bundle of C-14 missing goes unnoticed with chance %g, want 3.5 %%", m)
	}
	if f := 2 * phi(-bundle.limit()/bundle.sd); math.Abs(f-0.07) > 0.002 {
		t.Errorf("C-14 alarms for nothing with chance %g, want 7 %%", f)
	}
}

// TestNotKnown: without a tare or a unit weight a reading means nothing, and never alarms.
func TestNotKnown(t *testing.T) {
	for _, x := range []expect{
		expected("C-01", 0, map[string]int{"MG3": 12}),
		expected("C-01", 520, map[string]int{"NEW": 1}),
		expected("C-01", 520, nil),
	} {
		if x.alarms(prep.Kilogram) || x.tells() || x.z(prep.Kilogram) != 0 || x.miss() != 1 {
			t.Errorf("%+v: nothing is known, yet it speaks", x)
		}
	}
	if sd := unitSD(&prep.Item{UnitG: 400 * prep.Gram}); sd != 6*prep.Gram {
		t.Errorf("not measured: sd %s, want 1.5 %% of 400 g", sd)
	}
	if sd := unitSD(&prep.Item{UnitG: 20 * prep.Gram}); sd != prep.Gram {
		t.Errorf("not measured: sd %s, want at least 1 g", sd)
	}
}

// expected works out a carton of the weights above.
func expected(carton string, tare float64, lines map[string]int) expect {
	f := NewFloor(nil)
	p := &Plan{Plan: "P-1", Rev: 1}
	for item, q := range lines {
		w := demoWeights[item]
		f.Items[item] = &prep.Item{Item: item, UnitG: grams(w[0]), UnitSD: grams(w[1])}
		p.Lines = append(p.Lines, events.PlanLine{Carton: carton, Item: item, Q: q})
	}
	f.Plans["P-1"] = p
	return f.expect(&Carton{Carton: carton, Plan: "P-1", Tare: grams(tare)})
}
