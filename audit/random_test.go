package audit_test

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"packwright/audit"
	"packwright/audit/follow"
	"packwright/events"
	"packwright/prep"
)

// randomFloor writes a log by drawing, again and again, one of the cells that hold
// something and a way that leads on from there.
type randomFloor struct {
	*floor
	r     *rapid.T
	marks prep.Mark
	count map[string]int      // received by lot
	state map[string]string   // carton → open, finished, accepted, sealed, gone
	runs  map[string][]string // lot → runs that work on it
	badge string              // who does the next thing, and how long ago it was
	ago   time.Duration
}

var randomLots = map[string]string{"L-01": "MG3", "L-02": "CAP", "L-03": "PLU", "L-02/B": "SET"}

func newRandomFloor(t testing.TB, r *rapid.T) *randomFloor {
	f := &randomFloor{floor: newFloor(t), r: r, count: map[string]int{}, state: map[string]string{}, runs: map[string][]string{}, badge: "tobi"}
	for _, l := range []string{"L-01", "L-02", "L-03"} {
		f.step(&events.LotAnnounced{Lot: l, Kind: "bought", Item: randomLots[l], Owner: "house", Qty: 10})
		f.receive(l)
		f.step(&events.RunOpened{Run: "R-" + l, Tote: "T-1", Lot: l, Item: randomLots[l], Q: 10, Recipe: "any", RulesRev: 1, Clear: "yes"})
		f.runs[l] = []string{"R-" + l}
	}
	f.runs["L-02/B"] = []string{"R-L-02"}
	f.step(&events.LoadOpened{Load: "LD", Due: f.now})
	for _, c := range []string{"C-01", "C-02"} {
		f.step(&events.CartonOpened{Carton: c, Plan: "PL"})
		f.state[c] = "open"
	}
	return f
}

func (f *randomFloor) step(list ...events.Data) {
	f.now = f.now.Add(seconds(3))
	f.told("ST-1", f.badge, f.now.Add(-f.ago), list...)
}

func (f *randomFloor) pick(name string, list ...string) string {
	return rapid.SampledFrom(list).Draw(f.r, name)
}

func (f *randomFloor) n(limit int) int { return rapid.IntRange(1, limit).Draw(f.r, "n") }

func (f *randomFloor) receive(lot string) {
	q := f.n(12)
	f.count[lot] += q
	f.step(&events.LotReceived{Lot: lot, Item: randomLots[lot], Tote: f.tote(), Qty: q})
}

func (f *randomFloor) tote() string { return f.pick("tote", "T-1", "T-2", "T-3") }

// act writes one more frame.
func (f *randomFloor) act() {
	cells := make([]events.Cell, 0, len(f.cells))
	for c := range f.cells {
		cells = append(cells, c)
	}
	if len(cells) == 0 || rapid.IntRange(0, 19).Draw(f.r, "new") == 0 {
		f.receive(f.pick("lot", "L-01", "L-02", "L-03"))
		return
	}
	slices.SortFunc(cells, func(a, b events.Cell) int {
		return cmp.Or(cmp.Compare(a.Lot, b.Lot), cmp.Compare(a.Stage, b.Stage), cmp.Compare(a.Place, b.Place), cmp.Compare(a.Mark, b.Mark))
	})
	c := rapid.SampledFrom(cells).Draw(f.r, "cell")
	q := f.n(f.cells[c])
	var ms prep.Marks
	if c.Mark > 0 {
		ms, q = marks(c.Mark), 1
	}
	if _, carton := f.state[c.Place]; carton {
		f.actInCarton(c, q, ms)
		return
	}
	switch c.Stage {
	case events.Received:
		f.actReceived(c, q)
	case events.Triaged:
		f.actTriaged(c, q)
	case events.Prepped:
		f.actPrepped(c, q, ms)
	case events.Held:
		if f.pick("held", "release", "write off") == "release" {
			stage := events.Triaged
			if c.Mark > 0 {
				stage = events.Prepped
			}
			f.step(&events.HoldReleased{Hold: "H", Lot: c.Lot, Item: c.Item, Stage: stage, From: c.Place, To: f.tote(), Q: q, Marks: ms})
			return
		}
		f.step(&events.UnitsWrittenOff{Lot: c.Lot, Item: c.Item, Stage: c.Stage, From: c.Place, Q: q, Marks: ms})
	case events.Unmarked:
		if f.pick("unmarked", "mark", "mark", "divert") == "mark" {
			f.marks++
			f.step(&events.UnitMarked{Mark: f.marks, Lot: c.Lot, Item: c.Item, From: c.Place, To: f.tote(), How: "print"})
			return
		}
		f.step(&events.UnitsDiverted{Lot: c.Lot, Item: c.Item, Stage: c.Stage, From: c.Place, Q: q})
	case events.Diverted:
		f.step(&events.UnitsReturnedToFloor{Lot: c.Lot, Item: c.Item, Tote: f.tote(), Q: q})
	}
}

func (f *randomFloor) actReceived(c events.Cell, q int) {
	switch f.pick("received", "prep", "prep", "hold", "divert", "write off", "correct", "split", "lose") {
	case "prep":
		f.step(&events.UnitsTriaged{Lot: c.Lot, Item: c.Item, Tote: c.Place, Q: q, Verdict: events.ToPrep})
	case "hold":
		f.step(&events.UnitsTriaged{Lot: c.Lot, Item: c.Item, Tote: c.Place, To: "A-1", Hold: "H", Q: q, Verdict: events.ToHold})
	case "divert":
		f.step(&events.UnitsTriaged{Lot: c.Lot, Item: c.Item, Tote: c.Place, Q: q, Verdict: events.ToDivert})
	case "write off":
		f.step(&events.UnitsTriaged{Lot: c.Lot, Item: c.Item, Tote: c.Place, Q: q, Verdict: events.ToWriteOff})
	case "correct":
		if f.pick("sign", "+", "-") == "-" {
			q = -q
		}
		f.count[c.Lot] += q
		f.step(&events.LotCorrected{Lot: c.Lot, Item: c.Item, Stage: c.Stage, Place: c.Place, Delta: q})
	case "split":
		f.step(&events.ToteSplit{From: c.Place, To: f.tote(), Lot: c.Lot, Item: c.Item, Stage: c.Stage, Q: q})
	case "lose":
		f.step(&events.UnitsUnaccounted{Lot: c.Lot, Item: c.Item, Stage: c.Stage, From: c.Place, Q: q})
	}
}

func (f *randomFloor) actTriaged(c events.Cell, q int) {
	run := f.pick("run", f.runs[c.Lot]...)
	switch f.pick("triaged", "prep", "prep", "prep", "spoil", "hold", "bundle") {
	case "prep":
		d := &events.UnitsPrepped{Run: run, Lot: c.Lot, Item: c.Item, From: c.Place, To: f.tote(), Q: q, Recipe: "any"}
		if c.Lot == "L-01" || f.pick("with marks", "yes", "no") == "yes" {
			d.Marks = prep.MarksFromTo(f.marks+1, f.marks+prep.Mark(q))
			f.marks += prep.Mark(q)
		}
		f.step(d)
	case "spoil":
		f.step(&events.UnitSpoiled{Run: run, Lot: c.Lot, Item: c.Item, Stage: c.Stage, From: c.Place, To: "A-1", Hold: "H", Q: q, Cause: "tear",
			Verdict: events.Verdict(f.pick("verdict", "hold", "divert", "writeoff"))})
	case "hold":
		f.step(&events.UnitsHeld{Hold: "H", Lot: c.Lot, Item: c.Item, Stage: c.Stage, From: c.Place, To: "A-1", Q: q})
	case "bundle":
		if c.Lot == "L-02/B" {
			return
		}
		f.count["L-02/B"]++
		f.step(&events.BundleBuilt{Run: "R-L-02", Lot: "L-02/B", Item: "SET", Owner: "house", Q: 1, To: "ST-1",
			Components: []events.Component{{Lot: c.Lot, Item: c.Item, Stage: c.Stage, From: c.Place, Q: q}}})
	}
}

func (f *randomFloor) actPrepped(c events.Cell, q int, ms prep.Marks) {
	switch f.pick("prepped", "place", "place", "place", "split", "hold", "void", "write off") {
	case "place":
		carton := f.pick("carton", slices.Sorted(maps.Keys(f.state))...)
		if f.state[carton] != "open" {
			return
		}
		f.step(&events.UnitPlaced{Carton: carton, Item: c.Item, Lot: c.Lot, From: c.Place, Q: q, Marks: ms})
	case "split":
		f.step(&events.ToteSplit{From: c.Place, To: f.tote(), Lot: c.Lot, Item: c.Item, Stage: c.Stage, Q: q, Marks: ms})
	case "hold":
		f.step(&events.UnitsHeld{Hold: "H", Lot: c.Lot, Item: c.Item, Stage: c.Stage, From: c.Place, To: "A-1", Q: q, Marks: ms})
	case "void":
		if c.Mark > 0 {
			f.step(&events.MarkVoided{Mark: c.Mark, Lot: c.Lot, Item: c.Item, Stage: c.Stage, Place: c.Place})
		}
	case "write off":
		f.step(&events.UnitsWrittenOff{Lot: c.Lot, Item: c.Item, Stage: c.Stage, From: c.Place, Q: q, Marks: ms})
	}
}

func (f *randomFloor) actInCarton(c events.Cell, q int, ms prep.Marks) {
	carton := c.Place
	switch state := f.state[carton]; state + " " + f.pick("carton act", "on", "on", "back") {
	case "open on":
		f.state[carton] = "finished"
		f.step(&events.CartonFinished{Carton: carton})
	case "open back":
		f.step(&events.UnitTakenOut{Carton: carton, Item: c.Item, Lot: c.Lot, To: f.tote(), Q: q, Marks: ms})
	case "finished on":
		f.state[carton] = "accepted"
		f.step(&events.CountAccepted{Carton: carton, Rev: 1, CountBy: "ife", ByPlacer: f.pick("by placer", "yes", "no") == "yes"})
	case "finished back", "accepted back":
		f.state[carton] = "open"
		f.step(&events.CountVoided{Carton: carton, Why: "looked again"})
	case "accepted on":
		f.state[carton] = "sealed"
		f.step(&events.CartonSealed{Carton: carton, Seal: fmt.Sprint("S", len(f.frames))})
	case "sealed on":
		f.step(&events.CartonDispatched{Carton: carton, Load: "LD"})
		if f.pick("cancel", "yes", "no") == "yes" {
			f.step(&events.DispatchCancelled{Carton: carton, Load: "LD"})
			return
		}
		f.state[carton] = "gone"
	case "sealed back":
		f.state[carton] = "open"
		f.step(&events.CartonReopened{Carton: carton, Seal: "?", Reason: "looked again"})
	}
}

// TestRandomFloors: over random logs the fold's cells equal those of the plain
// books at every frame, each lot holds what it received in every prefix, and a
// fold taken up from a snapshot goes on as if nothing had been.
func TestRandomFloors(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		f := newRandomFloor(t, r)
		fold := follow.New()
		read := func() {
			for n := int(fold.Checkpoint().Seq); n < len(f.frames); n++ {
				if _, err := fold.Take(uint64(n+1), f.frames[n]); err != nil {
					r.Fatal(err)
				}
			}
		}
		for range rapid.IntRange(5, 60).Draw(r, "frames") {
			f.act()
			read()
			fold.View(func(a *audit.Fold) { f.judge(a) })
		}
		again := roundTrip(r, fold)
		if again.Checkpoint() != fold.Checkpoint() {
			r.Fatalf("restored at %+v, saved at %+v", again.Checkpoint(), fold.Checkpoint())
		}
		f.act()
		for n := int(again.Checkpoint().Seq); n < len(f.frames); n++ {
			if _, err := again.Take(uint64(n+1), f.frames[n]); err != nil {
				r.Fatalf("a restored fold does not go on: %v", err)
			}
		}
	})
}

// judge compares the fold's balances with the plain books.
func (f *randomFloor) judge(a *audit.Fold) {
	if got := a.Recount(); got != f.digest() {
		f.r.Fatalf("counted anew the cells give %s, the plain books %s", got, f.digest())
	}
	for _, b := range a.Balances() {
		if b.Sum != f.lotSum(b.Lot) || b.Received != f.count[b.Lot] || !b.Balanced {
			f.r.Fatalf("lot %s: received %d, %d in the books; the plain books have %d of %d", b.Lot, b.Received, b.Sum, f.lotSum(b.Lot), f.count[b.Lot])
		}
		for s, n := range b.At {
			plain := 0
			for c, k := range f.cells {
				if c.Lot == b.Lot && c.Stage == s {
					plain += k
				}
			}
			if n != plain {
				f.r.Fatalf("lot %s: %d at %s, the plain books have %d", b.Lot, n, s, plain)
			}
		}
	}
}
