package prep

import (
	"encoding/json"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func liftOf(t *testing.T, r checkRow) (Lift, LiftUnits) {
	t.Helper()
	long, heavy := "in", "lb"
	if r.col[0] == string(LiftMetric) {
		long, heavy = "cm", "kg"
	}
	length := func(i int) Length {
		l, err := ParseLength(r.col[i] + " " + long)
		if err != nil {
			t.Fatal(err)
		}
		return l
	}
	load, err := ParseMass(r.col[1] + " " + heavy)
	if err != nil {
		t.Fatal(err)
	}
	return Lift{
		Load: load, Origin: LiftPlace{H: length(2), V: length(3), Angle: r.float(t, 5)}, Travel: length(4),
		PerMinute: r.float(t, 6), Spell: LiftSpell(r.col[7]), Coupling: Coupling(r.col[8]),
	}, LiftUnits(r.col[0])
}

func near(got, want, tol float64) bool { return math.Abs(got-want) <= tol }

func TestLiftExamples(t *testing.T) {
	for _, kind := range []string{"lift", "place"} {
		for _, r := range checkRows(t, "lifting.txt", kind) {
			l, units := liftOf(t, r)
			got, err := l.In(units)
			if err != nil {
				t.Fatal(err)
			}
			if !near(got.RWL, r.float(t, 9), r.digits(9)) {
				t.Errorf("%s: RWL %.6f, want %s (%s)", r.place, got.RWL, r.col[9], r.source)
			}
			if r.col[10] != "-" && !near(float64(got.LI), r.float(t, 10), r.digits(10)) {
				t.Errorf("%s: LI %.6f, want %s (%s)", r.place, got.LI, r.col[10], r.source)
			}
		}
	}
	for _, r := range checkRows(t, "lifting.txt", "printed") {
		product := 1.0
		for _, s := range strings.Fields(r.col[0]) {
			product *= checkRow{col: []string{s}}.float(t, 0)
		}
		if !near(product, r.float(t, 1), r.digits(1)) {
			t.Errorf("%s: %.4f, printed %s", r.place, product, r.col[1])
		}
	}
}

// Example 4 as one task: the destination, under control, governs.
func TestLiftDestinationGoverns(t *testing.T) {
	rows := checkRows(t, "lifting.txt", "lift")
	l, units := liftOf(t, rows[0])
	far, _ := liftOf(t, checkRows(t, "lifting.txt", "place")[0])
	l.Destination = &far.Origin
	got, err := l.In(units)
	if err != nil || got.Governs != "destination" || !near(got.RWL, 15.253, .0005) || !near(got.Origin.RWL, 34.814, .0005) {
		t.Fatalf("%+v, %v", got, err)
	}
	// The coupling is that of each end's own height: fair is 0.95 low, 1 high.
	if got.Origin.CM != .95 || got.Destination.CM != 1 {
		t.Errorf("CM %v and %v", got.Origin.CM, got.Destination.CM)
	}
}

// The frequency multiplier follows the origin's height at both ends: 13 lifts a
// minute from the floor are not recommended wherever they end.
func TestLiftFrequencyOfOrigin(t *testing.T) {
	l := Lift{Load: 5 * Kilogram, Origin: LiftPlace{H: 25 * CM, V: 20 * CM}, Destination: &LiftPlace{H: 25 * CM, V: 90 * CM},
		Travel: 70 * CM, PerMinute: 13, Spell: SpellShort, Coupling: CouplingGood}
	got, err := l.In(LiftMetric)
	if b, err := json.Marshal(got); err != nil || !strings.Contains(string(b), `"li":null`) {
		t.Errorf("%s, %v", b, err)
	}
	if err != nil || got.RWL != 0 || got.Destination.FM != 0 || !math.IsInf(float64(got.LI), 1) {
		t.Errorf("%+v, %v", got, err)
	}
}

func TestLiftFrequency(t *testing.T) {
	for _, r := range checkRows(t, "lifting.txt", "frequency") {
		got := FrequencyMultiplier(r.float(t, 0), LiftSpell(r.col[1]), r.col[2] == "yes")
		if !near(got, r.float(t, 3), 1e-12) {
			t.Errorf("%s: FM %v, want %s", r.place, got, r.col[3])
		}
	}
	for _, r := range checkRows(t, "lifting.txt", "session") {
		if got := SessionFrequency(r.float(t, 0), r.float(t, 1)); !near(got, r.float(t, 2), r.digits(2)) {
			t.Errorf("%s: F %v", r.place, got)
		}
	}
	if FrequencyMultiplier(1, "week", true) != 0 || FrequencyMultiplier(math.NaN(), SpellShort, true) != 0 {
		t.Error("what is not known gives 0")
	}
}

func TestLiftComposite(t *testing.T) {
	for _, r := range checkRows(t, "lifting.txt", "composite") {
		var tasks []LiftTask
		for _, s := range strings.Fields(r.col[1]) {
			fili, per, _ := strings.Cut(s, ":")
			pair := checkRow{col: []string{fili, per}}
			tasks = append(tasks, LiftTask{pair.float(t, 0), pair.float(t, 1)})
		}
		got := CompositeIndex(r.float(t, 0), tasks, func(f float64) float64 { return FrequencyMultiplier(f, SpellShort, true) })
		if !near(got, r.float(t, 2), r.digits(2)) {
			t.Errorf("%s: %.5f, want %s", r.place, got, r.col[2])
		}
	}
	never := func(float64) float64 { return 0 }
	if got := CompositeIndex(1, []LiftTask{{0, 9}, {0, 9}}, never); !math.IsInf(got, 1) {
		t.Errorf("no frequency is recommended, yet the index is %v", got)
	}
}

func TestLiftLimits(t *testing.T) {
	base := Lift{Load: 10 * Pound, Origin: LiftPlace{H: 10 * Inch, V: 30 * Inch}, Travel: 10 * Inch, PerMinute: .2, Spell: SpellShort, Coupling: CouplingGood}
	got, err := base.In(LiftUS)
	if err != nil || got.RWL != 51 {
		t.Fatalf("the best lift is 51 lb: %+v, %v", got, err)
	}
	for name, c := range map[string]struct {
		change func(*Lift)
		zero   bool
	}{
		"H 25":    {func(l *Lift) { l.Origin.H = 25 * Inch }, false},
		"H > 25":  {func(l *Lift) { l.Origin.H = 25*Inch + 1 }, true},
		"H < 10":  {func(l *Lift) { l.Origin.H = 3 * Inch }, false},
		"V 70":    {func(l *Lift) { l.Origin.V = 70 * Inch }, false},
		"V > 70":  {func(l *Lift) { l.Origin.V = 70*Inch + 1 }, true},
		"D 70":    {func(l *Lift) { l.Travel = 70 * Inch }, false},
		"D > 70":  {func(l *Lift) { l.Travel = 70*Inch + 1 }, true},
		"A 135":   {func(l *Lift) { l.Origin.Angle = 135 }, false},
		"A > 135": {func(l *Lift) { l.Origin.Angle = 135.1 }, true},
	} {
		l := base
		c.change(&l)
		got, err := l.In(LiftUS)
		if err != nil || (got.RWL == 0) != c.zero || got.RWL > 51 {
			t.Errorf("%s: %+v, %v", name, got, err)
		}
	}
	for name, change := range map[string]func(*Lift){
		"no load": func(l *Lift) { l.Load = 0 }, "no reach": func(l *Lift) { l.Origin.H = 0 }, "below the floor": func(l *Lift) { l.Origin.V = -1 },
		"NaN": func(l *Lift) { l.PerMinute = math.NaN() }, "angle": func(l *Lift) { l.Origin.Angle = 190 }, "spell": func(l *Lift) { l.Spell = "" },
		"coupling": func(l *Lift) { l.Coupling = "" }, "destination": func(l *Lift) { l.Destination = &LiftPlace{} },
	} {
		l := base
		change(&l)
		if got, err := l.In(LiftMetric); err == nil {
			t.Errorf("%s: %+v", name, got)
		}
	}
	if _, err := base.In("stone"); err == nil {
		t.Error("an unknown unit system must be refused")
	}
}

func TestLiftSpellAndEstimate(t *testing.T) {
	for _, c := range []struct {
		work, rest time.Duration
		want       LiftSpell
	}{
		{time.Hour, time.Hour, SpellShort}, {time.Hour, 59 * time.Minute, SpellModerate}, {time.Hour, 17 * time.Minute, SpellLong},
		{2 * time.Hour, 36 * time.Minute, SpellModerate}, {2 * time.Hour, 35 * time.Minute, SpellLong}, {8 * time.Hour, 0, SpellLong},
	} {
		if got, err := SpellOf(c.work, c.rest); err != nil || got != c.want {
			t.Errorf("%v then %v: %s, %v; want %s", c.work, c.rest, got, err, c.want)
		}
	}
	if _, err := SpellOf(8*time.Hour+1, time.Hour); err == nil {
		t.Error("more than 8 h is not covered")
	}
	if h := HorizontalEstimate(12*Inch, 10*Inch); h != 14*Inch {
		t.Errorf("from 10 in: %v", h)
	}
	if h := HorizontalEstimate(12*Inch, 9*Inch); h != 16*Inch {
		t.Errorf("below 10 in: %v", h)
	}
}

func TestLiftCautionWords(t *testing.T) {
	for _, r := range checkRows(t, "lifting.txt", "band") {
		if got := CautionFor(LiftIndex(r.float(t, 0)), Kilogram).Band; !strings.Contains(got, r.col[1]) {
			t.Errorf("%s: %q", r.place, got)
		}
	}
	for _, r := range checkRows(t, "lifting.txt", "mark") {
		m, err := ParseMass(r.col[0])
		if err != nil {
			t.Fatal(err)
		}
		if got := CautionFor(.5, m).Mark; got != strings.TrimPrefix(r.col[1], "-") {
			t.Errorf("%s: %q, want %q", r.place, got, r.col[1])
		}
	}
	if !strings.Contains(CautionFor(LiftIndex(math.NaN()), 1).Band, "above 3") {
		t.Error("an index that is not a number is the worst band")
	}
}

// The load is heavier, farther, more often: the index never falls.
func TestLiftMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := Lift{
			Load:   Mass(rapid.Int64Range(1, 40_000_000).Draw(t, "load")),
			Origin: LiftPlace{H: Length(rapid.Int64Range(1, 700_000).Draw(t, "h")), V: Length(rapid.Int64Range(0, 1_800_000).Draw(t, "v")), Angle: rapid.Float64Range(0, 135).Draw(t, "a")},
			Travel: Length(rapid.Int64Range(0, 1_800_000).Draw(t, "d")), PerMinute: rapid.Float64Range(0, 16).Draw(t, "f"),
			Spell: rapid.SampledFrom([]LiftSpell{SpellShort, SpellModerate, SpellLong}).Draw(t, "spell"), Coupling: CouplingFair,
		}
		units := rapid.SampledFrom([]LiftUnits{LiftUS, LiftMetric}).Draw(t, "units")
		a, err := l.In(units)
		if err != nil {
			t.Fatal(err)
		}
		worse := l
		worse.Load += Mass(rapid.Int64Range(0, 1_000_000).Draw(t, "more load"))
		worse.Origin.H += Length(rapid.Int64Range(0, 100_000).Draw(t, "more h"))
		worse.Origin.Angle += rapid.Float64Range(0, 20).Draw(t, "more a")
		worse.Travel += Length(rapid.Int64Range(0, 100_000).Draw(t, "more d"))
		worse.PerMinute += rapid.Float64Range(0, 2).Draw(t, "more f")
		b, err := worse.In(units)
		if err != nil {
			t.Fatal(err)
		}
		if b.RWL > a.RWL*(1+1e-12) || b.LI < a.LI*(1-1e-12) {
			t.Fatalf("%+v: %+v\n%+v: %+v", l, a, worse, b)
		}
	})
}
