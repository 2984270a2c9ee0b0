package audit_test

import (
	"fmt"
	"slices"
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

func newFloor(t testing.TB) *floor {
	f := &floor{t: t, cells: map[events.Cell]int{}, kept: map[string]map[events.Cell]int{}, next: map[string]int{}}
	f.now = at(t, "07:29:00")
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

// clock moves the writer's clock on.
func (f *floor) clock(s string) { f.now = events.Max(f.now, at(f.t, s)) }

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
	frame, err := events.EncodeFrame(events.Header{Frame: fmt.Sprint("W-", seq), Floor: "lantern-yard", Writer: "W", Recorded: f.now,
		Size: f.tree.Size, Root: proof.Hex(f.tree.Root()), Cells: f.digest()}, lines)
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

// shift moves q units, or the marked ones, between two cells given without marks.
func (f *floor) shift(from, to events.Cell, q int, marks prep.Marks) {
	f.t.Helper()
	if len(marks) == 0 {
		f.add(from, -q)
		f.add(to, q)
		return
	}
	for _, m := range marks {
		from.Mark, to.Mark = m, m
		if to.Stage.Gone() {
			to.Mark = 0
		}
		f.add(from, -1)
		f.add(to, 1)
	}
}

func (f *floor) add(c events.Cell, n int) {
	f.t.Helper()
	if f.cells[c] += n; f.cells[c] < 0 {
		f.t.Fatalf("the script takes more out of %+v than is there", c)
	}
	if f.cells[c] == 0 {
		delete(f.cells, c)
	}
}

// all shifts everything in a carton from one stage to another.
func (f *floor) all(carton string, from, to events.Stage) {
	moved := map[events.Cell]int{}
	for c, n := range f.cells {
		if c.Place == carton && c.Stage == from {
			moved[c] = n
		}
	}
	for c, n := range moved {
		dest := c
		dest.Stage = to
		if to.Gone() {
			dest.Place, dest.Mark = "", 0
		}
		f.add(c, -n)
		f.add(dest, n)
	}
	if to == events.Dispatched {
		f.kept[carton] = moved
	}
}

// move keeps the plain books: the table of package events once more.
func (f *floor) move(e *events.Event) {
	f.t.Helper()
	cell := func(lot, item string, s events.Stage, place string) events.Cell {
		if s.Gone() {
			place = ""
		}
		return events.Cell{Lot: lot, Item: item, Stage: s, Place: place}
	}
	switch d := e.Data.(type) {
	case *events.LotReceived:
		f.add(cell(d.Lot, d.Item, events.Received, d.Tote), d.Qty)
	case *events.LotCorrected:
		f.add(cell(d.Lot, d.Item, d.Stage, d.Place), d.Delta)
	case *events.ToteSplit:
		f.shift(cell(d.Lot, d.Item, d.Stage, d.From), cell(d.Lot, d.Item, d.Stage, d.To), d.Q, d.Marks)
	case *events.UnitsTriaged:
		place := d.Tote
		if d.Verdict == events.ToHold {
			place = d.To
		}
		f.shift(cell(d.Lot, d.Item, events.Received, d.Tote), cell(d.Lot, d.Item, d.Verdict.Stage(), place), d.Q, nil)
	case *events.UnitsHeld:
		f.shift(cell(d.Lot, d.Item, d.Stage, d.From), cell(d.Lot, d.Item, events.Held, d.To), d.Q, d.Marks)
	case *events.HoldReleased:
		f.shift(cell(d.Lot, d.Item, events.Held, d.From), cell(d.Lot, d.Item, d.Stage, d.To), d.Q, d.Marks)
	case *events.UnitsDiverted:
		f.shift(cell(d.Lot, d.Item, d.Stage, d.From), cell(d.Lot, d.Item, events.Diverted, ""), d.Q, d.Marks)
	case *events.UnitsReturnedToFloor:
		f.shift(cell(d.Lot, d.Item, events.Diverted, ""), cell(d.Lot, d.Item, events.Received, d.Tote), d.Q, nil)
	case *events.UnitsWrittenOff:
		f.shift(cell(d.Lot, d.Item, d.Stage, d.From), cell(d.Lot, d.Item, events.WrittenOff, ""), d.Q, d.Marks)
	case *events.UnitsUnaccounted:
		f.shift(cell(d.Lot, d.Item, d.Stage, d.From), cell(d.Lot, d.Item, events.Unaccounted, ""), d.Q, d.Marks)
	case *events.UnitsPrepped:
		f.add(cell(d.Lot, d.Item, events.Triaged, d.From), -d.Q)
		to := cell(d.Lot, d.Item, events.Prepped, d.To)
		if len(d.Marks) == 0 {
			f.add(to, d.Q)
		}
		for _, m := range d.Marks {
			to.Mark = m
			f.add(to, 1)
		}
	case *events.UnitSpoiled:
		var marks prep.Marks
		if d.Mark > 0 {
			marks = prep.Marks{d.Mark}
		}
		f.shift(cell(d.Lot, d.Item, d.Stage, d.From), cell(d.Lot, d.Item, d.Verdict.Stage(), d.To), d.Q, marks)
	case *events.BundleBuilt:
		for _, c := range d.Components {
			f.shift(cell(c.Lot, c.Item, c.Stage, c.From), cell(c.Lot, c.Item, events.Consumed, ""), c.Q, c.Marks)
		}
		f.add(cell(d.Lot, d.Item, events.Triaged, d.To), d.Q)
	default:
		f.moveCarton(e, cell)
	}
}

func (f *floor) moveCarton(e *events.Event, cell func(lot, item string, s events.Stage, place string) events.Cell) {
	f.t.Helper()
	switch d := e.Data.(type) {
	case *events.MarkVoided:
		c := cell(d.Lot, d.Item, d.Stage, d.Place)
		c.Mark = d.Mark
		f.add(c, -1)
		f.add(cell(d.Lot, d.Item, events.Unmarked, d.Place), 1)
	case *events.UnitMarked:
		f.add(cell(d.Lot, d.Item, events.Unmarked, d.From), -1)
		c := cell(d.Lot, d.Item, events.Prepped, d.To)
		c.Mark = d.Mark
		f.add(c, 1)
	case *events.UnitPlaced:
		f.shift(cell(d.Lot, d.Item, events.Prepped, d.From), cell(d.Lot, d.Item, events.Prepped, d.Carton), d.Q, d.Marks)
	case *events.UnitTakenOut:
		f.shift(cell(d.Lot, d.Item, events.Prepped, d.Carton), cell(d.Lot, d.Item, events.Prepped, d.To), d.Q, d.Marks)
	case *events.CountAccepted:
		f.all(d.Carton, events.Prepped, events.Counted)
	case *events.CountVoided:
		f.all(d.Carton, events.Counted, events.Prepped)
	case *events.CartonSealed:
		f.all(d.Carton, events.Counted, events.Sealed)
	case *events.CartonReopened:
		f.all(d.Carton, events.Sealed, events.Prepped)
	case *events.CartonDispatched:
		f.all(d.Carton, events.Sealed, events.Dispatched)
	case *events.DispatchCancelled:
		for c, n := range f.kept[d.Carton] {
			f.add(cell(c.Lot, c.Item, events.Dispatched, ""), -n)
			f.add(c, n)
		}
		delete(f.kept, d.Carton)
	}
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

func sortedTypes(m map[events.Type]bool) []events.Type {
	var out []events.Type
	for k := range m {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}
