package audit_test

import (
	"errors"
	"strings"
	"testing"
	"time"

	"packwright/audit"
	"packwright/audit/follow"
	"packwright/events"
	"packwright/prep"
)

// TestDayIsLawful: the whole day is believed frame by frame, and breaks no law.
func TestDayIsLawful(t *testing.T) {
	f := lanternDay(t)
	for _, b := range f.breaches() {
		t.Error(b)
	}
	v, err := follow.Verify(t.Context(), f.log(), nil)
	if err != nil || !v.OK() || v.Events != int64(len(f.list)) || v.Frames != uint64(len(f.frames)) {
		t.Errorf("%d events, %d frames, %v", v.Events, v.Frames, err)
	}
}

func TestTraceMark(t *testing.T) {
	fold := lanternDay(t).read()
	tr, err := fold.TraceMark(19)
	if err != nil || tr.Size != 1 || len(tr.Units) != 1 {
		t.Fatalf("%+v, %v", tr, err)
	}
	want := `mark M-0019: set of 1; the mark is on one unit only
  M-0019 MG3 (Moss Golem figure no. 3), lot L-02, dispatched
    run R-07, unit 5, ST-2, ife, ready 10:19:10, rules r4 window figure (1 layer of wrap-3-16), wrap-3-16 BW-18
    placed in C-02 13:51:24 by sunniva
    counted 15:46:02 by maren, sealed 15:50:00, seal 000412, dispatched 17:54:20 on LD-1
`
	if got := tr.String(); !strings.HasPrefix(got, want) {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	if len(tr.Units[0].Frames) < 5 {
		t.Errorf("the trace rests on frames %v only", tr.Units[0].Frames)
	}
}

// TestTraceFollowsTheGoods: the label M-0023 went to another box; its goods bear M-0072.
func TestTraceFollowsTheGoods(t *testing.T) {
	fold := lanternDay(t).read()
	old, err := fold.TraceMark(23)
	if err != nil || old.Label == nil {
		t.Fatalf("%+v, %v", old, err)
	}
	if l := old.Label; l.State != "cancelled" || l.ReplacedBy != 73 || l.NowItem != "MG4" || l.NowRun != "R-08" || l.CancelAt.Clock() != "15:36:00" ||
		!has(l.GoodsNow, "M-0072") {
		t.Errorf("label lineage %+v", l)
	}
	if s := old.String(); !strings.Contains(s, "M-0023: cancelled 15:36") || !strings.Contains(s, "replaced by M-0073 (Moss Golem figure no. 4, R-08)") {
		t.Error(s)
	}
	neu, err := fold.TraceMark(72)
	if err != nil {
		t.Fatal(err)
	}
	u := neu.Units[0]
	if !u.PrepKnown || len(u.Prep) != 1 || u.Prep[0].Run != "R-07" || u.Prep[0].Unit != 9 || u.Prep[0].At.Clock() != "10:26:30" || u.Lot != "L-02" ||
		u.Replaces != 24 || !has(u.Inherits, "M-0023") || u.Carton != "C-02" {
		t.Errorf("%+v", u)
	}
	second, err := fold.TraceMark(73)
	if err != nil || second.Units[0].Prep[0].Unit != 1 || second.Units[0].Prep[0].Materials[0].Lot != "BW-18" {
		t.Errorf("%+v, %v", second, err)
	}
}

func TestTraceOfNothing(t *testing.T) {
	fold := lanternDay(t).read()
	var np *audit.NotPrinted
	if _, err := fold.TraceMark(9999); !errors.As(err, &np) || np.Mark != 9999 {
		t.Errorf("M-9999: %v", err)
	}
	var none *audit.NoSuch
	for _, a := range []audit.Ask{{}, {Item: "XYZ"}, {Lot: "L-99"}, {Run: "R-99"}, {Carton: "C-99"}, {Serial: "no"}} {
		if _, err := fold.TraceUnits(a); !errors.As(err, &none) {
			t.Errorf("%q: %v", a, err)
		}
	}
	// Known names with nothing in common are no error: the answer is none.
	if tr, err := fold.TraceUnits(audit.Ask{Item: "DSC", Carton: "C-01"}); err != nil || tr.Size != 0 {
		t.Errorf("%+v, %v", tr, err)
	}
}

// TestTraceSet: a unit without a mark is one of a set, and the set says of what.
func TestTraceSet(t *testing.T) {
	fold := lanternDay(t).read()
	tr, err := fold.TraceUnits(audit.Ask{Item: "DSC", Carton: "C-11"})
	if err != nil || tr.Size != 12 || len(tr.Sets) != 1 {
		t.Fatalf("%+v, %v", tr, err)
	}
	if tr.Why != "cannot tell which of the 12: these units have no mark; they are 12 of run R-03's 18" {
		t.Error(tr.Why)
	}
	s := tr.Sets[0]
	if s.Stage != events.Dispatched || s.Place != "C-11" || s.Journey.Seal != "000409" || s.Journey.Load != "LD-1" || s.First.Clock() != "14:45:12" || s.Last.Clock() != "14:47:24" {
		t.Errorf("%+v", s)
	}
	for _, c := range []struct {
		ask  audit.Ask
		size int
	}{{audit.Ask{Item: "DSC"}, 18}, {audit.Ask{Run: "R-03"}, 18}, {audit.Ask{Lot: "L-04"}, 30}, {audit.Ask{Run: "R-01"}, 29}, {audit.Ask{Item: "BND", Carton: "C-14"}, 12}, {audit.Ask{Run: "R-07"}, 9}} {
		if tr, err := fold.TraceUnits(c.ask); err != nil || tr.Size != c.size {
			t.Errorf("%s: %d, %v; want %d", c.ask, tr.Size, err, c.size)
		}
	}
}

// TestTraceBundle: lineage of a bundle, both ways.
func TestTraceBundle(t *testing.T) {
	fold := lanternDay(t).read()
	made, err := fold.TraceUnits(audit.Ask{Lot: "L-11/B"})
	if err != nil || len(made.Parts) != 1 || made.Parts[0].Lot != "L-11" || made.Parts[0].Q != 24 {
		t.Errorf("%+v, %v", made.Parts, err)
	}
	part, err := fold.TraceUnits(audit.Ask{Lot: "L-11"})
	if err != nil || len(part.Into) != 1 || part.Into[0] != "L-11/B" || part.Size != 24 || part.Sets[0].Stage != events.Consumed {
		t.Errorf("%+v, %v", part, err)
	}
}

func TestSiblings(t *testing.T) {
	fold := lanternDay(t).read()
	list, err := fold.SiblingsOf(19, 15*time.Minute)
	if err != nil {
		t.Fatal(err)
	}
	want := map[audit.Axis]struct {
		key, marks string
		n          int
	}{
		audit.ByRun:      {"R-07", "M-0015..M-0022, M-0072", 9},
		audit.ByMaterial: {"BW-18", "M-0001..M-0022, M-0025..M-0033, M-0072..M-0073", 33},
		audit.ByRules:    {"r4 window figure", "M-0001..M-0022, M-0072", 23},
		audit.ByLot:      {"L-02 MG3", "M-0015..M-0022, M-0072", 9},
		audit.ByCarton:   {"C-02", "M-0013..M-0022, M-0072", 11},
		audit.ByScale:    {"SC-1", "M-0001..M-0022, M-0025..M-0073", 221},
		audit.ByBench:    {"ST-2 ife", "M-0014..M-0022, M-0025, M-0072..M-0073", 12}, // goods ready between 10:04:10 and 10:34:10
	}
	for _, s := range list {
		w, ok := want[s.Axis]
		if !ok || s.Key != w.key || s.N != w.n || !has(s.Marks, w.marks) || s.Class != 0 && s.Axis != audit.ByScale {
			t.Errorf("%s %s: %d, %s", s.Axis, s.Key, s.N, s.Marks)
		}
		if s.Here != 0 || s.Sealed != 0 || s.Dispatched != s.N || s.Elsewhere != 0 {
			t.Errorf("%s: %+v", s.Axis, s)
		}
		delete(want, s.Axis)
	}
	for axis := range want {
		t.Errorf("no axis %s", axis)
	}
}

// TestSiblingsAtNoon splits the same sets while all is still here.
func TestSiblingsAtNoon(t *testing.T) {
	fold := lanternDay(t).until("13:52:00")
	s, err := fold.SiblingsAlong(audit.ByMaterial, "BW-18")
	if err != nil || s.N != 33 || !has(s.Marks, "M-0001..M-0033") {
		t.Errorf("%+v, %v", s, err)
	}
	// C-01 was sealed at 13:36:04 with M-0001..M-0012.
	if s.Sealed != 12 || s.Here != 21 || !has(s.HereMarks, "M-0013..M-0033") {
		t.Errorf("%+v", s)
	}
}

// TestSiblingsOfClass: units without marks are counted, and "at most" is said
// where nobody can tell which of them it was.
func TestSiblingsOfClass(t *testing.T) {
	fold := lanternDay(t).read()
	s, err := fold.SiblingsAlong(audit.ByRun, "R-03")
	if err != nil || s.N != 18 || s.Class != 18 || s.Dispatched != 18 || s.AtMost {
		t.Errorf("%+v, %v", s, err)
	}
	if s, err = fold.SiblingsAlong(audit.ByRun, "R-12"); err != nil || s.N != 12 || s.Dispatched != 12 {
		t.Errorf("the bundles of R-12: %+v, %v", s, err)
	}
	if s, err = fold.SiblingsAlong(audit.ByLot, "L-11"); err != nil || s.N != 12 {
		t.Errorf("what was built of L-11: %+v, %v", s, err)
	}
	if _, err := fold.SiblingsAlong(audit.ByRun, "R-99"); err == nil {
		t.Error("a run that never was has siblings")
	}
	var none *audit.NoSuch
	if _, err := fold.SiblingsOf(23, time.Hour); !errors.As(err, &none) {
		t.Errorf("siblings of a cancelled label: %v", err)
	}
}

// TestShortCarton is the question of 17:41.
func TestShortCarton(t *testing.T) {
	fold := lanternDay(t).until("17:41:00")
	w, err := fold.Why("C-07")
	if err != nil || len(w.Cartons) != 1 {
		t.Fatalf("%+v, %v", w, err)
	}
	c := w.Cartons[0]
	if c.State != audit.Blocked || c.Planned != 21 || c.Scanned != 21 || c.Counted == nil || *c.Counted != 20 {
		t.Errorf("%+v", c)
	}
	if c.Weight.Gross != 11827*prep.Gram || c.Weight.Mean != 12130*prep.Gram || c.Weight.Residual != -303*prep.Gram || !c.Weight.Alarm {
		t.Errorf("%+v", c.Weight)
	}
	if z := c.Weight.Z.Float(); z < -9.3 || z > -9.2 {
		t.Errorf("z %v", z)
	}
	if !strings.HasPrefix(w.Readings[0], "physically short") {
		t.Error(w.Readings[0])
	}
	if w.Matter.Mismatch != "X-02" || w.Matter.By != "maren" || len(w.Recent) == 0 {
		t.Errorf("%+v", w.Matter)
	}
	b := fold.Board(fold.Now())
	blocked := 0
	for _, c := range b.Cartons {
		if c.State == audit.Blocked {
			blocked++
		} else if c.State != audit.Sealed {
			t.Errorf("%s is %s", c.Carton, c.State)
		}
	}
	if blocked != 1 || b.Go.Go || !strings.Contains(b.Go.Reasons[0], "C-07 is blocked by X-02") || b.Loads[0].Minutes != 19 || len(b.Cartons) != 14 {
		t.Errorf("%+v", b.Go)
	}
}

// TestShortCartonSettled: seen from the end, with the testimony told later.
func TestShortCartonSettled(t *testing.T) {
	fold := lanternDay(t).read()
	c, _ := fold.Contents("C-07")
	if c.State != audit.Dispatched || c.Seal != "000415" || c.Scanned != 21 || *c.Counted != 21 || c.Reading() != "good: plan, scans, count and weight agree" {
		t.Errorf("%+v", c)
	}
	v := fold.Irregular()
	if len(v.Overrides) != 1 || len(v.Testimony) != 1 || len(v.Offline) != 1 || len(v.Opened) != 1 || v.Refused["E-CAR-04"] != 1 {
		t.Errorf("%s: %+v", v.Summary(), v)
	}
	if told := v.Testimony[0]; told.At.Clock() != "17:28:54" || told.Recorded.Clock() != "17:44:30" || told.Minutes != 15 || told.Type != "unit.taken-out" {
		t.Errorf("%+v", told)
	}
	if v.Offline[0].N != 10 || v.Offline[0].Last.Clock() != "14:41:00" || v.Offline[0].Noted.Clock() != "14:43:00" {
		t.Errorf("%+v", v.Offline)
	}
	// What the floor knew at 17:42 did not hold the testimony of 17:44:30.
	if early := lanternDay(t).until("17:42:00").Irregular(); len(early.Testimony) != 0 {
		t.Errorf("told before it was recorded: %+v", early.Testimony)
	}
}

func TestSwappedPair(t *testing.T) {
	fold := lanternDay(t).until("15:00:00")
	w, err := fold.Why("X-01")
	if err != nil || len(w.Cartons) != 2 || len(w.Matter.Symptoms) != 2 {
		t.Fatalf("%+v, %v", w, err)
	}
	for i, want := range []struct {
		carton string
		z      float64
	}{{"C-03", -4.1}, {"C-02", 4.4}} {
		c := w.Cartons[i]
		if z := c.Weight.Z.Float(); c.Carton != want.carton || z < want.z-0.06 || z > want.z+0.06 || !strings.HasPrefix(w.Readings[i], "counts agree and the weight does not") {
			t.Errorf("%s: z %.2f, %s", c.Carton, z, w.Readings[i])
		}
	}
}

func TestReconcileDay(t *testing.T) {
	r := lanternDay(t).read().Reconcile()
	if len(r.Plans) != 1 || r.Plans[0] != (audit.PlanTotals{Plan: "PL-1", Rev: 2, Planned: 221, Placed: 221, Counted: 221, Sealed: 221, Dispatched: 221, Closed: true}) {
		t.Errorf("%+v", r.Plans)
	}
	if len(r.Differences) != 1 || r.Differences[0].Kind != events.NoShow || r.Differences[0].Lot != "L-05" {
		t.Errorf("%+v", r.Differences)
	}
	// 240 came, and 12 bundles were made of 24 of them.
	if r.Received != 252 || !r.Balanced {
		t.Errorf("received %d, balanced %v", r.Received, r.Balanced)
	}
	got := map[events.Stage]int{}
	for _, s := range lanternDay(t).read().StageTotals() {
		got[s.Stage] = s.N
	}
	for s, n := range map[events.Stage]int{events.Dispatched: 221, events.Held: 4, events.Diverted: 2, events.WrittenOff: 1, events.Consumed: 24} {
		if got[s] != n {
			t.Errorf("%d %s, want %d", got[s], s, n)
		}
	}
}
