package audit_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"packwright/audit"
	"packwright/events"
	"packwright/prep"
)

// theCase is the first reading of one of the day's cartons.
func theCase(name string, counted *int, from ...audit.Exchange) audit.Case {
	d := carton(name)
	var k audit.Case
	for _, l := range d.lines {
		k.Units = append(k.Units, line(l.item, l.q))
		k.Scanned += l.q
	}
	e := audit.DefaultScale.Expect(k.Units, prep.Mass(d.tare)*prep.Gram)
	k.Weight, k.From, k.Counted = e.Assess(prep.Mass(d.first)*prep.Gram), from, counted
	return k
}

func line(item string, n int) audit.MassLine {
	for _, it := range dayItems {
		if it.item == item {
			return audit.MassLine{Item: item, N: n, Mean: prep.Mass(it.g) * 100, SD: prep.Mass(it.sd) * 100}
		}
	}
	panic(item)
}

// TestCausesOfTheDay holds the three cartons that did not fit against values
// worked out before.
func TestCausesOfTheDay(t *testing.T) {
	four, three := audit.Exchange{In: line("MG4", 0), Out: "MG3"}, audit.Exchange{In: line("MG3", 0), Out: "MG4"}
	for _, c := range []struct {
		name          string
		k             audit.Case
		residual      prep.Mass
		sd            float64
		text          string
		alone, both   float64
		second        string
		secondAlone   float64
		ruledOut      bool
		decidedBy     string
		within, fewer float64
	}{
		{"C-07", theCase("C-07", nil), -303, 32.73, "one PLU missing", .73, .73, "one PLU in place of one PUZ", .27, false, "the weight alone does not decide", .005, 0},
		{"C-07, 20 counted", theCase("C-07", num(20)), -303, 32.73, "one PLU missing", .73, 1, "one PLU in place of one PUZ", .27, true, "the count decides, 20 of 21", .005, 0},
		{"C-02", theCase("C-02", nil, four), 53, 12, "one MG4 in place of one MG3", .994, .994, "all as planned", .006, false, "the weight alone says so", .002, 0},
		{"C-03", theCase("C-03", num(12), three), -51, 12.37, "one MG3 in place of one MG4", .979, .979, "all as planned", .021, false, "the weight decides; the count of 12", .002, 0},
	} {
		e := audit.DefaultPriors.Explain(c.k)
		if w := c.k.Weight; w.Residual != c.residual*prep.Gram || math.Abs(w.SD.Grams()-c.sd) > 0.006 {
			t.Errorf("%s: %s ± %s", c.name, w.Residual, w.SD)
		}
		near := func(p prep.Fixed, want float64) bool { return math.Abs(p.Float()-want) <= c.within }
		if len(e.Ranked) != 2 || e.Ranked[0].Text != c.text || !near(e.Ranked[0].Alone, c.alone) || !near(e.Ranked[0].Both, c.both) {
			t.Errorf("%s: %+v", c.name, e.Ranked)
			continue
		}
		if s := e.Ranked[1]; s.Text != c.second || !near(s.Alone, c.secondAlone) || s.RuledOut != c.ruledOut {
			t.Errorf("%s: second %+v", c.name, s)
		}
		if !e.Fits || !strings.HasPrefix(e.Says, c.decidedBy) {
			t.Errorf("%s: %s", c.name, e.Says)
		}
	}
}

// TestCountSpeaks: what each count leaves of the same reading, and what is said
// when nothing fits.
func TestCountSpeaks(t *testing.T) {
	for _, c := range []struct {
		counted *int
		gross   int
		first   string
		says    string
	}{
		{num(21), 11827, "one PLU in place of one PUZ", "the count decides"},
		{num(19), 11510, "two PLU missing", "the count decides"}, // 620 g: one puzzle, 640 g, is as heavy
		{num(20), 12130, "all as planned, and the count wrong", "the weight decides, against the count of 20"},
		{num(22), 12440, "one PLU too many", "the count decides, 22 of 21"}, // a puzzle for a plush is 330 g,
		{num(21), 10900, "one PLU in place of one PUZ", "none of these fits"},
		{nil, 14000, "one PUZ too many", "none of these fits"},
		{nil, 11500, "one PUZ missing", "the weight alone does not decide"},
	} {
		k := theCase("C-07", c.counted)
		k.Weight = k.Weight.Expected.Assess(prep.Mass(c.gross) * prep.Gram)
		e := audit.DefaultPriors.Explain(k)
		if e.Ranked[0].Text != c.first || !strings.HasPrefix(e.Says, c.says) {
			t.Errorf("%d g, %v counted: %s, %s\n%+v", c.gross, c.counted, e.Ranked[0].Text, e.Says, e.Ranked)
		}
		sum := prep.Fixed(0)
		for _, x := range e.Ranked {
			sum += x.Both
		}
		if sum > 1_000_010 || sum < 980_000 {
			t.Errorf("%d g: the chances sum to %v", c.gross, sum)
		}
	}
	if e := audit.DefaultPriors.Explain(audit.Case{Units: []audit.MassLine{{Item: "NEW", N: 2}}}); len(e.Ranked) != 0 || !strings.HasPrefix(e.Says, "no explanation") {
		t.Errorf("%+v", e)
	}
}

// TestPowerIsAlwaysShown: 3.5 % missed and 7 % false alarms are said of a good
// carton too.
func TestPowerIsAlwaysShown(t *testing.T) {
	w, err := lanternDay(t).read().Why("C-14")
	if err != nil {
		t.Fatal(err)
	}
	weight := w.Cartons[0].Weight
	if math.Abs(weight.Miss.Float()-.035) > .001 || math.Abs(weight.FalseAlarm.Float()-.07) > .002 || weight.Alarm {
		t.Errorf("miss %v, false alarm %v", weight.Miss, weight.FalseAlarm)
	}
	var b strings.Builder
	if err := w.Text(&b); err != nil || !strings.Contains(b.String(), "power: this scale cannot vouch for this carton; count by hand: one of 96 g missing goes unseen in 3.5 % of cases, a good carton alarms in 7.1 %") {
		t.Error(b.String())
	}
}

// TestWhyExplains reads the same from the day's events, where what may have been
// exchanged in is found from the runs at the bench.
func TestWhyExplains(t *testing.T) {
	w, err := lanternDay(t).until("17:41:00").Why("X-02")
	if err != nil {
		t.Fatal(err)
	}
	top := w.Explained[0].Ranked[0]
	if top.Cause != audit.OneMissing || top.Item != "PLU" || top.Change != -1 || math.Abs(top.Alone.Float()-.73) > .005 || top.Both.Float() < .99 || len(w.Swaps) != 0 {
		t.Errorf("%+v, swaps %v", top, w.Swaps)
	}
	w, err = lanternDay(t).until("13:53:00").Why("X-01")
	if err != nil || len(w.Explained) != 2 {
		t.Fatalf("%+v, %v", w.Explained, err)
	}
	for i, want := range []struct {
		carton, item, instead string
		chance                float64
	}{{"C-03", "MG3", "MG4", .979}, {"C-02", "MG4", "MG3", .994}} {
		e := w.Explained[i]
		x := e.Ranked[0]
		if e.Carton != want.carton || x.Item != want.item || x.Instead != want.instead || math.Abs(x.Both.Float()-want.chance) > .002 {
			t.Errorf("%+v, want %+v", e, want)
		}
	}
	if len(w.Swaps) != 1 || w.Swaps[0].Cartons != [2]string{"C-03", "C-02"} || w.Swaps[0].Items != [2]string{"MG3", "MG4"} || math.Abs(w.Swaps[0].Chance.Float()-.99) > .002 {
		t.Errorf("%+v", w.Swaps)
	}
	// One carton alone has no pair, and after the repair there is none left.
	for _, when := range []string{"13:40:00", "15:48:30"} {
		if w, err := lanternDay(t).until(when).Why("C-03"); err != nil || len(w.Swaps) != 0 {
			t.Errorf("%s: %+v, %v", when, w.Swaps, err)
		}
	}
}

// TestStaleReading: a reading from before the last placement explains nothing.
func TestStaleReading(t *testing.T) {
	w, err := lanternDay(t).until("17:46:40").Why("C-07")
	if err != nil || len(w.Explained[0].Ranked) != 0 || !strings.Contains(w.Explained[0].Says, "weigh again") {
		t.Errorf("%+v, %v", w.Explained, err)
	}
}

// TestScaleDrift: a scale that is 20 g wrong is found within eight cartons; one
// wrong carton is no drift.
func TestScaleDrift(t *testing.T) {
	for _, c := range []struct {
		off   func(i int) int
		n     int
		alarm bool
	}{
		{func(int) int { return 0 }, 8, false},
		{func(int) int { return 20 }, 8, true},
		{func(int) int { return -20 }, 9, true},
		{func(int) int { return 20 }, 7, false},
		{func(i int) int { return map[bool]int{true: -300}[i == 3] }, 8, false},
	} {
		f := glued(t, c.n, c.off)
		d := f.read().ScaleDrift("SC-1")
		if d.Alarm != c.alarm || d.N != min(c.n, 8) {
			t.Errorf("%d cartons: %+v", c.n, d)
		}
		if strings.HasPrefix(d.Words(), "check scale SC-1") != c.alarm {
			t.Error(d.Words())
		}
	}
}

// glued is a floor with n accepted cartons of 10 figures of 412 g, each weighed
// off by some grams.
func glued(t *testing.T, n int, off func(i int) int) *floor {
	f := newFloor(t)
	f.do("BOARD", "odile", &events.ItemRegistered{Item: prep.Item{Item: "MG3", Trace: prep.TraceClass, UnitG: 412 * prep.Gram, UnitSD: 3 * prep.Gram}})
	f.do("BOARD", "odile", &events.LotAnnounced{Lot: "L-1", Item: "MG3", Owner: "house", Qty: 10 * n})
	f.do("BOARD", "odile", &events.LotReceived{Lot: "L-1", Item: "MG3", Qty: 10 * n, Tote: "T-1"})
	f.do("BOARD", "odile", &events.UnitsTriaged{Lot: "L-1", Item: "MG3", Q: 10 * n, Tote: "T-1", Verdict: events.ToPrep})
	f.do("ST-1", "tobi", &events.RunOpened{Run: "R-1", Lot: "L-1", Item: "MG3", Tote: "T-1", Q: 10 * n, Recipe: "label only", RulesRev: 1})
	f.do("ST-1", "tobi", &events.UnitsPrepped{Run: "R-1", Lot: "L-1", Item: "MG3", Q: 10 * n, From: "T-1", To: "T-1"})
	plan := &events.PlanReleased{Plan: "P-1", Rev: 1}
	for i := range n {
		plan.Lines = append(plan.Lines, events.PlanLine{Carton: fmt.Sprint("C-", i+1), Item: "MG3", Owner: "house", Q: 10})
	}
	f.do("BOARD", "odile", plan)
	for i := range n {
		key := fmt.Sprint("C-", i+1)
		f.do("ST-1", "tobi", &events.CartonOpened{Carton: key, Plan: "P-1", Rev: 1, Tare: 520 * prep.Gram})
		f.do("ST-1", "tobi", &events.UnitPlaced{Carton: key, Item: "MG3", Lot: "L-1", Run: "R-1", Q: 10, From: "T-1"})
		f.do("ST-1", "tobi", &events.CartonFinished{Carton: key})
		f.do("ST-1", "tobi", &events.CartonWeighed{Carton: key, Gross: prep.Mass(520+60+4120+off(i)) * prep.Gram, Scale: "SC-1", Stable: true})
		f.do("ST-1", "tobi", &events.CountEntered{Carton: key, By: "tobi", ByPlacer: true, Method: "hand", Total: 10, Attempt: 1})
		f.do("ST-1", "tobi", &events.CountAccepted{Carton: key, Rev: 1, Lines: []events.CountLine{{Item: "MG3", Q: 10}}, CountBy: "tobi", ByPlacer: true})
	}
	return f
}

// TestUnitWeights: proposed from accepted cartons, against what they were made
// with, and never applied.
func TestUnitWeights(t *testing.T) {
	wide := []int{-21, 12, 5, -9, 3, 16, -4}
	for _, c := range []struct {
		name    string
		n       int
		off     func(i int) int
		mean    float64
		propose bool
	}{
		{"as the page says", 7, func(i int) int { return wide[i] }, 412.3, false},
		{"ten grams more a unit", 7, func(i int) int { return 100 + wide[i] }, 422.3, true},
		{"one carton far off", 7, func(i int) int { return wide[i] + map[bool]int{true: 4000}[i == 2] }, 412.3, false},
		{"too few", 4, func(i int) int { return 100 + wide[i] }, 421.8, false},
	} {
		fold := glued(t, c.n, c.off).read()
		list := fold.UnitWeights()
		if len(list) != 1 {
			t.Fatalf("%s: %+v", c.name, list)
		}
		u := list[0]
		if u.Item != "MG3" || u.Cartons != c.n || u.Units != 10*c.n || math.Abs(u.Mean.Grams()-c.mean) > 0.5 || u.Propose != c.propose || u.Has != 412*prep.Gram {
			t.Errorf("%s: %+v", c.name, u)
		}
		if again := fold.UnitWeights()[0]; again != u {
			t.Errorf("%s: %+v, then %+v", c.name, u, again)
		}
		if c.n == 7 && c.name != "one carton far off" && (u.SD < 2*prep.Gram || u.SD > 6*prep.Gram) {
			t.Errorf("%s: sd %s", c.name, u.SD)
		}
		var b strings.Builder
		if err := audit.UnitWeightsText(&b, list); err != nil || strings.Contains(b.String(), "revise") != c.propose {
			t.Error(b.String())
		}
	}
}
