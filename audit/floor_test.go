package audit_test

import (
	"fmt"
	"testing"
	"time"

	"packwright/audit"
	"packwright/audit/follow"
	"packwright/events"
	"packwright/events/memlog"
	"packwright/events/proof"
	"packwright/prep"
)

// floor writes logs by hand, with headers that are true: its books are a plain
// map from cell to number, moved by rules written down a second time, so that a
// fold can be judged by something that shares no code with it.
type floor struct {
	t      testing.TB
	cells  map[events.Cell]int
	kept   map[string]map[events.Cell]int // carton → what left in it
	tree   proof.Tree
	frames [][]byte
	list   []events.Event
	now    events.Time
	next   map[string]int // station → command number
	plan   int
	rules  int
}

// unfounded is a log before its first event.
func unfounded(t testing.TB) *floor {
	return &floor{t: t, cells: map[events.Cell]int{}, kept: map[string]map[events.Cell]int{}, next: map[string]int{}, now: at(t, "07:29:00")}
}

func newFloor(t testing.TB) *floor {
	f := unfounded(t)
	f.do("BOARD", "odile", &events.FloorFounded{Floor: "lantern-yard", Owner: "odile", Currency: "EUR", Epoch: "E1"})
	return f
}

// at reads a time of the day of all tests.
func at(t testing.TB, clock string) events.Time {
	t.Helper()
	if len(clock) == 5 {
		clock += ":00"
	}
	m, err := events.ParseTime("2031-03-04T" + clock + "Z")
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// do writes one frame of one command's events.
func (f *floor) do(station, badge string, list ...events.Data) events.Seq {
	f.t.Helper()
	return f.told(station, badge, f.now, list...)
}

// told is do for something that happened at another time.
func (f *floor) told(station, badge string, when events.Time, list ...events.Data) events.Seq {
	f.t.Helper()
	f.next[station]++
	var evs []events.Event
	for i, d := range list {
		e := events.Event{Cause: fmt.Sprintf("%s/1/%d", station, f.next[station]), At: when, Recorded: f.now, Basis: events.Scan, Station: station, Badge: badge,
			PlanRev: f.plan, RulesRev: f.rules, Data: d}
		if i > 0 {
			e.Basis = events.Derived
		}
		if when != f.now && i == 0 {
			e.Basis = events.Testimony
		}
		evs = append(evs, e)
	}
	return f.write(evs...)
}

// write makes a frame of events that are ready, whatever they say.
func (f *floor) write(list ...events.Event) events.Seq {
	f.t.Helper()
	seq := uint64(len(f.frames) + 1)
	var lines [][]byte
	for i := range list {
		list[i].Seq = events.Seq{Frame: seq, Index: i}
		f.move(&list[i])
		line, err := events.Encode(nil, &list[i])
		if err != nil {
			f.t.Fatal(err)
		}
		lines = append(lines, line)
	}
	frame, err := events.EncodeFrame(events.Header{Frame: fmt.Sprint("W-", seq), Floor: "lantern-yard", Size: f.tree.Size, Root: f.tree.Root(), Cells: f.digest()}, lines)
	if err != nil {
		f.t.Fatal(err)
	}
	for _, l := range lines {
		f.tree.Add(l)
	}
	f.frames = append(f.frames, frame)
	f.list = append(f.list, list...)
	return events.Seq{Frame: seq}
}

// digest sums all cells anew.
func (f *floor) digest() events.Digest {
	var d events.Digest
	for c, n := range f.cells {
		d.Add(c.Hash(), n)
	}
	return d
}

func (f *floor) log() *memlog.Log { return memlog.New(f.frames...) }

// read follows the whole log and gives the fold.
func (f *floor) read() *audit.Fold {
	f.t.Helper()
	r := follow.New()
	if err := r.CatchUp(f.t.Context(), f.log()); err != nil {
		f.t.Fatal(err)
	}
	var out *audit.Fold
	r.View(func(fold *audit.Fold) { out = fold })
	return out
}

// until reads what was recorded by a time of the day.
func (f *floor) until(clock string) *audit.Fold {
	f.t.Helper()
	fold, err := follow.Until(f.t.Context(), f.log(), at(f.t, clock))
	if err != nil {
		f.t.Fatal(err)
	}
	return fold
}

// lotSum adds all cells of a lot.
func (f *floor) lotSum(lot string) int {
	n := 0
	for c, k := range f.cells {
		if c.Lot == lot {
			n += k
		}
	}
	return n
}

// breaches reads the log with the laws looking on and gives those broken.
func (f *floor) breaches() []audit.Breach {
	f.t.Helper()
	v, err := follow.Verify(f.t.Context(), f.log(), nil)
	if err != nil {
		f.t.Fatal(err)
	}
	return v.Breaches
}

func marks(list ...prep.Mark) prep.Marks { return prep.NewMarks(list...) }

func seconds(n int) time.Duration { return time.Duration(n) * time.Second }

// has says whether a list of marks holds exactly these runs, written as marks are.
func has(list prep.Marks, want string) bool { return list.String() == want }
