package audit_test

import (
	"errors"
	"testing"

	"packwright/audit"
	"packwright/events"
	"packwright/prep"
)

// figures is a floor with two runs of four marked figures each, of one lot: marks
// 1 to 4 and 5 to 8, on two rolls of wrap.
func figures(t testing.TB) *floor {
	f := newFloor(t)
	f.do("ST-1", "tobi", &events.LotReceived{Lot: "L-01", Item: "MG3", Tote: "T-1", Qty: 8})
	f.do("ST-1", "tobi", &events.UnitsTriaged{Lot: "L-01", Item: "MG3", Tote: "T-1", Q: 8, Verdict: events.ToPrep})
	for i, run := range []string{"R-01", "R-02"} {
		from := prep.Mark(i*4 + 1)
		f.do("ST-1", "tobi", &events.RunOpened{Run: run, Tote: "T-1", Lot: "L-01", Item: "MG3", Q: 4, Recipe: "window figure", RulesRev: 4, Clear: "yes"})
		f.do("ST-1", "tobi", &events.MaterialDrawn{Run: run, Material: "wrap", MatLot: "BW-" + run})
		f.do("ST-1", "tobi", &events.UnitsPrepped{Run: run, Lot: "L-01", Item: "MG3", From: "T-1", To: "T-2", Q: 4, Marks: prep.MarksFromTo(from, from+3), Recipe: "window figure"})
		f.do("ST-1", "tobi", &events.RunClosed{Run: run, In: 4, Made: 4, Used: 4})
	}
	return f
}

func (f *floor) void(m prep.Mark) {
	f.do("ST-1", "maren", &events.MarkVoided{Mark: m, Lot: "L-01", Item: "MG3", Stage: events.Prepped, Place: "T-2", Reason: "torn"})
}

func (f *floor) remark(m prep.Mark, run string) {
	f.do("ST-1", "maren", &events.UnitMarked{Mark: m, Lot: "L-01", Item: "MG3", Run: run, From: "T-2", To: "T-2", How: "print"})
}

// TestRemark: what the goods under a new mark are known to be, and when that is
// not known, the smallest set of what they may be.
func TestRemark(t *testing.T) {
	type origin struct {
		run  string
		unit int
	}
	for _, c := range []struct {
		name string
		do   func(*floor)
		mark prep.Mark
		want []origin
	}{
		{"one void, one new: exact", func(f *floor) { f.void(3); f.remark(20, "R-01") }, 20, []origin{{"R-01", 3}}},
		{"no run named, one void: exact", func(f *floor) { f.void(3); f.remark(20, "") }, 20, []origin{{"R-01", 3}}},
		{"two void of one run: either", func(f *floor) { f.void(2); f.void(3); f.remark(20, "R-01") }, 20, []origin{{"R-01", 2}, {"R-01", 3}}},
		{"and the second new one: either as well", func(f *floor) { f.void(2); f.void(3); f.remark(20, "R-01"); f.remark(21, "R-01") }, 21, []origin{{"R-01", 2}, {"R-01", 3}}},
		{"two void of two runs, run named: exact", func(f *floor) { f.void(2); f.void(7); f.remark(20, "R-02") }, 20, []origin{{"R-02", 3}}},
		{"two void of two runs, none named: either", func(f *floor) { f.void(2); f.void(7); f.remark(20, "") }, 20, []origin{{"R-01", 2}, {"R-02", 3}}},
		{"all settled, then another: exact again", func(f *floor) {
			f.void(2)
			f.void(3)
			f.remark(20, "")
			f.remark(21, "")
			f.void(7)
			f.remark(22, "")
		}, 22, []origin{{"R-02", 3}}},
		{"void and new twice over: still the first", func(f *floor) { f.void(2); f.remark(20, ""); f.void(20); f.remark(21, "") }, 21, []origin{{"R-01", 2}}},
		{"one of two diverted without a mark: either", func(f *floor) {
			f.void(2)
			f.void(3)
			f.do("ST-1", "maren", &events.UnitsDiverted{Lot: "L-01", Item: "MG3", Stage: events.Unmarked, From: "T-2", Q: 1, Channel: "stall", Reason: "worn"})
			f.remark(20, "")
		}, 20, []origin{{"R-01", 2}, {"R-01", 3}}},
	} {
		f := figures(t)
		c.do(f)
		tr, err := f.read().TraceMark(c.mark)
		if err != nil || len(tr.Units) != 1 {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		var got []origin
		for _, p := range tr.Units[0].Prep {
			got = append(got, origin{p.Run, p.Unit})
		}
		if len(got) != len(c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
			continue
		}
		for i := range got {
			if got[i] != c.want[i] {
				t.Errorf("%s: %v, want %v", c.name, got, c.want)
			}
		}
		if known := len(c.want) == 1; tr.Units[0].PrepKnown != known {
			t.Errorf("%s: known %v", c.name, tr.Units[0].PrepKnown)
		}
	}
}

// TestRemarkedSiblings: a set counts the goods, each once, under the marks that
// they may bear now.
func TestRemarkedSiblings(t *testing.T) {
	f := figures(t)
	f.void(2)
	f.void(7)
	f.remark(20, "R-01")
	fold := f.read()
	s, err := fold.SiblingsAlong(audit.ByRun, "R-01")
	if err != nil || !has(s.Marks, "M-0001, M-0003..M-0004, M-0020") || s.N != 4 {
		t.Errorf("%+v, %v", s, err)
	}
	// R-02 has one unit without any label: it is exposed, and has no mark to name it.
	s, err = fold.SiblingsAlong(audit.ByMaterial, "BW-R-02")
	if err != nil || !has(s.Marks, "M-0005..M-0006, M-0008") || s.Class != 1 || s.N != 4 {
		t.Errorf("%+v, %v", s, err)
	}
	var none *audit.NoSuch
	if _, err := fold.SiblingsOf(7, 0); !errors.As(err, &none) {
		t.Errorf("%v", err)
	}
	w, err := fold.Where("M-0007")
	if err != nil || w.Says != "M-0007 is cancelled" {
		t.Errorf("%q, %v", w.Says, err)
	}
}

// TestMixedTote: two runs of class goods poured into one tote cannot be told apart
// afterwards, and the answer says so.
func TestMixedTote(t *testing.T) {
	f := newFloor(t)
	f.do("ST-1", "tobi", &events.LotReceived{Lot: "L-01", Item: "PLU", Tote: "T-1", Qty: 10})
	f.do("ST-1", "tobi", &events.UnitsTriaged{Lot: "L-01", Item: "PLU", Tote: "T-1", Q: 10, Verdict: events.ToPrep})
	for _, run := range []string{"R-01", "R-02"} {
		f.do("ST-1", "tobi", &events.RunOpened{Run: run, Tote: "T-1", Lot: "L-01", Item: "PLU", Q: 5, Recipe: "bag", RulesRev: 4, Clear: "yes"})
		f.do("ST-1", "tobi", &events.UnitsPrepped{Run: run, Lot: "L-01", Item: "PLU", From: "T-1", To: "T-" + run, Q: 5, Recipe: "bag"})
	}
	f.do("ST-1", "tobi", &events.CartonOpened{Carton: "C-01"})
	f.do("ST-1", "tobi", &events.CartonOpened{Carton: "C-02"})
	f.do("ST-1", "tobi", &events.UnitPlaced{Carton: "C-01", Item: "PLU", Lot: "L-01", From: "T-R-01", Q: 2})
	f.do("ST-1", "tobi", &events.ToteSplit{From: "T-R-01", To: "T-R-02", Lot: "L-01", Item: "PLU", Stage: events.Prepped, Q: 3})
	f.do("ST-1", "tobi", &events.UnitPlaced{Carton: "C-02", Item: "PLU", Lot: "L-01", From: "T-R-02", Q: 4})
	fold := f.read()
	pure, err := fold.TraceUnits(audit.Ask{Item: "PLU", Carton: "C-01"})
	if err != nil || pure.Size != 2 || len(pure.Sets[0].Runs) != 1 || pure.Sets[0].Runs[0] != (audit.RunShare{Run: "R-01", Made: 5}) {
		t.Errorf("%+v, %v", pure, err)
	}
	mixed, err := fold.TraceUnits(audit.Ask{Item: "PLU", Carton: "C-02"})
	if err != nil || mixed.Size != 4 || len(mixed.Sets[0].Runs) != 2 || mixed.Why != "cannot tell which of the 4: these units have no mark; they may be of 2 runs" {
		t.Errorf("%+v, %v", mixed, err)
	}
	s, err := fold.SiblingsAlong(audit.ByRun, "R-01")
	if err != nil || !s.AtMost || s.N != 10 { // 2 of its own, and any of the 8 that were mixed
		t.Errorf("%+v, %v", s, err)
	}
}
