package audit

import (
	"fmt"
	"slices"
	"time"

	"packwright/prep"
)

// exposed is the units of a set while it is gathered. A mark comes once, by
// whatever way it was found.
type exposed struct {
	marks  map[prep.Mark]bool
	heaps  map[heapKey]heapOf
	atMost bool
}

type heapKey struct {
	at    placeID
	lot   lotID
	stage stage
	runs  string
}

type heapOf struct {
	n     int
	stage stage
}

func newExposed() *exposed {
	return &exposed{marks: map[prep.Mark]bool{}, heaps: map[heapKey]heapOf{}}
}

// ofRun gathers the units whose goods a run made. A cancelled mark is no unit;
// the mark that took its goods is.
func (f *Fold) ofRun(id runID) *exposed {
	x := newExposed()
	f.addRun(x, id, func(int) bool { return true })
	return x
}

// addRun adds the units of a run whose ordinals pass. Units without marks have
// no ordinals: they are added when any of the run's would pass.
func (f *Fold) addRun(x *exposed, id runID, pass func(ordinal int) bool) {
	r := f.runs.Rows[id]
	for _, s := range r.Marks {
		for m := s.From; m <= s.To; m++ {
			if f.unit(m).State != voided && pass(s.At+int(m-s.From)) {
				x.marks[m] = true
			}
		}
	}
	for _, m := range r.Again {
		u := f.unit(m)
		for _, o := range f.originsOf(m, u) {
			if u.State != voided && o.Run == id && pass(int(o.Ordinal)) {
				x.marks[m] = true
			}
		}
	}
	if !pass(0) {
		return
	}
	before := len(x.heaps)
	f.addHeaps(x, id)
	for k := 1; k <= r.Made && len(x.heaps) > before; k++ {
		if !pass(k) {
			x.atMost = true // which of them it was, nobody can say
			return
		}
	}
}

// addHeaps adds the anonymous units that may be a run's, wherever they are.
func (f *Fold) addHeaps(x *exposed, id runID) {
	for _, l := range f.lotsOfRun(id) {
		for _, at := range f.lots.Rows[l].Places {
			for _, p := range f.parcelsAt(at) {
				if p.lot == l && len(p.marks) == 0 && slices.Contains(p.runs, id) {
					x.heap(at, p, f.places.Rows[at].Carton != 0 && f.cartons.Rows[f.places.Rows[at].Carton].State == Dispatched)
				}
			}
		}
		for _, h := range f.lots.Rows[l].Gone {
			if h.Stage != dispatched && !h.Marked && slices.Contains(h.Runs, id) {
				x.heap(0, parcel{lot: l, stage: h.Stage, q: h.N, runs: h.Runs}, false)
			}
		}
	}
}

// lotsOfRun gives the lots whose units a run made: its own, or for a bundle the
// lot of what was built.
func (f *Fold) lotsOfRun(id runID) []lotID {
	r := f.runs.Rows[id]
	out := []lotID{r.Lot}
	for _, into := range f.lots.Rows[r.Lot].Into {
		if slices.Contains(f.lots.Rows[into].Runs, id) {
			out = append(out, into)
		}
	}
	return out
}

func (x *exposed) heap(at placeID, p parcel, gone bool) {
	if gone {
		p.stage = dispatched
	}
	x.heaps[heapKey{at, p.lot, p.stage, fmt.Sprint(p.runs)}] = heapOf{p.q, p.stage}
	x.atMost = x.atMost || len(p.runs) > 1
}

// ofBench gathers what one badge made ready at one bench around a moment.
func (f *Fold) ofBench(station, badge name, at stamp, window time.Duration) *exposed {
	x := newExposed()
	from, to := at-stamp(window.Milliseconds()<<11), at+stamp(window.Milliseconds()<<11)
	for i, r := range f.runs.Rows[1:] {
		for _, b := range r.Batches {
			if b.Fact.Station != station || b.Fact.Badge != badge || b.Last < from || b.Fact.At > to {
				continue
			}
			f.addRun(x, runID(i+1), func(ordinal int) bool {
				return ordinal == 0 || ordinal >= b.First && ordinal < b.First+b.N && f.madeWithin(runID(i+1), ordinal, from, to)
			})
		}
	}
	return x
}

// madeWithin says whether a marked unit of a run was made ready in a window; a
// unit whose own time is not known counts.
func (f *Fold) madeWithin(id runID, ordinal int, from, to stamp) bool {
	for _, s := range f.runs.Rows[id].Marks {
		if k := ordinal - s.At; k >= 0 && k <= int(s.To-s.From) {
			t := f.unit(s.From + prep.Mark(k)).PreppedAt
			return t >= from && t <= to
		}
	}
	return true
}

// ofMaterial gathers the units that got material from one lot.
func (f *Fold) ofMaterial(key string) *exposed {
	x := newExposed()
	m := f.matlots[key]
	if m == nil {
		return x
	}
	id := f.names.at[key]
	for _, r := range m.Runs {
		f.addRun(x, r, func(ordinal int) bool {
			return slices.ContainsFunc(f.runs.Rows[r].Materials, func(u use) bool { return u.MatLot == id && u.has(ordinal) })
		})
	}
	return x
}

// ofRules gathers the units of every run by one recipe of one revision.
func (f *Fold) ofRules(rev int, recipe name) *exposed {
	x := newExposed()
	for i, r := range f.runs.Rows[1:] {
		if r.Rev == rev && r.Recipe == recipe {
			f.addRun(x, runID(i+1), func(int) bool { return true })
		}
	}
	return x
}

// ofLot gathers what was made ready of one lot.
func (f *Fold) ofLot(id lotID) *exposed {
	x := newExposed()
	for _, r := range f.lots.Rows[id].Runs {
		f.addRun(x, r, func(int) bool { return true })
	}
	return x
}

// ofCarton gathers what a carton holds, or held when it left.
func (f *Fold) ofCarton(id cartonID) *exposed {
	x := newExposed()
	c := f.cartons.Rows[id]
	for _, p := range f.inside(c) {
		for _, m := range p.marks {
			x.marks[m] = true
		}
		if len(p.marks) == 0 {
			x.heap(c.Place, p, c.State == Dispatched)
		}
	}
	return x
}
