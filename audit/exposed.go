package audit

import (
	"slices"
	"time"

	"packwright/prep"
)

// exposed is the units of a set while it is gathered. A unit comes once, by
// whatever way it was found: only marks that may be of several runs, and heaps
// that several runs fed, can be met twice, and those are looked up.
type exposed struct {
	marks  []prep.Mark
	vague  map[prep.Mark]bool
	heaps  []heapIn
	shared map[heapKey]bool
	atMost bool // some heap is counted whole although only part of it is meant
}

// heapIn is a heap with the stage it has now: one in a carton that has left keeps
// the stage it left with.
type heapIn struct {
	*heap
	now stage
	key heapKey
}

// heapKey tells a heap from all others, however often it is read: the how-manieth
// of those that lie in a place, of those that a carton left with, or of those of a
// lot that are gone.
type heapKey struct {
	at   placeID
	kept bool
	gone lotID
	no   int
}

func newExposed() *exposed {
	return &exposed{vague: map[prep.Mark]bool{}, shared: map[heapKey]bool{}}
}

func (x *exposed) addMark(m prep.Mark, vague bool) {
	if vague {
		if x.vague[m] {
			return
		}
		x.vague[m] = true
	}
	x.marks = append(x.marks, m)
}

func (x *exposed) addHeap(h heapIn) {
	if len(h.Runs) > 1 {
		if x.atMost = true; x.shared[h.key] {
			return
		}
		x.shared[h.key] = true
	}
	x.heaps = append(x.heaps, h)
}

// everyUnit lets all ordinals of a run pass.
func everyUnit(int) bool { return true }

// addRun adds the units whose goods a run made and whose ordinals pass; each run
// is to be added once. A cancelled mark is no unit; the mark that took its goods
// is. Units without marks have no ordinals: they are added, all of them, when
// ordinal 0 passes.
func (f *Fold) addRun(x *exposed, id runID, pass func(ordinal int) bool) {
	r := f.runs.row(id)
	for _, s := range r.Marks {
		for m := s.From; m <= s.To; m++ {
			if pass(s.At+int(m-s.From)) && f.look(m).State != voided {
				x.addMark(m, false)
			}
		}
	}
	for _, m := range r.Again {
		u := f.look(m)
		origins := f.originsOf(m, u)
		for _, o := range origins {
			if u.State != voided && o.Run == id && pass(int(o.Ordinal)) {
				x.addMark(m, len(origins) > 1)
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
		for _, at := range f.lots.row(l).Places {
			f.heapsAt(at, func(h heapIn) {
				if h.Lot == l && slices.Contains(h.Runs, id) {
					x.addHeap(h)
				}
			})
		}
		gone := f.lots.row(l).Gone
		for i := range gone {
			if h := &gone[i]; h.Stage != dispatched && !h.Marked && slices.Contains(h.Runs, id) {
				x.addHeap(heapIn{h, h.Stage, heapKey{gone: l, no: i}})
			}
		}
	}
}

// heapsAt gives each heap that lies in a place, or lay in it when it left, with
// the stage its units have now.
func (f *Fold) heapsAt(at placeID, fn func(heapIn)) {
	p := f.places.row(at)
	if p.Carton != 0 {
		if k := f.cartons.row(p.Carton).Kept; k != nil {
			for i := range k.Heaps {
				fn(heapIn{&k.Heaps[i], dispatched, heapKey{at: at, kept: true, no: i}})
			}
		}
	}
	for i := range p.Heaps {
		fn(heapIn{&p.Heaps[i], p.Heaps[i].Stage, heapKey{at: at, no: i}})
	}
}

// lotsOfRun gives the lots whose units a run made: its own, or for a bundle the
// lot of what was built.
func (f *Fold) lotsOfRun(id runID) []lotID {
	r := f.runs.row(id)
	out := []lotID{r.Lot}
	for _, into := range f.lots.row(r.Lot).Into {
		if slices.Contains(f.lots.row(into).Runs, id) {
			out = append(out, into)
		}
	}
	return out
}

// ofBench gathers what one badge made ready at one bench around a moment.
func (f *Fold) ofBench(station, badge name, at stamp, window time.Duration) *exposed {
	x := newExposed()
	from, to := at-stamp(window.Milliseconds()<<11), at+stamp(window.Milliseconds()<<11)
	for id, r := range f.worked(from, to) {
		var mine []batch
		for _, b := range r.Batches {
			if b.Fact.Station == station && b.Fact.Badge == badge && b.Last >= from && b.Fact.At <= to {
				mine = append(mine, b)
			}
		}
		if len(mine) == 0 {
			continue
		}
		f.addRun(x, id, func(ordinal int) bool {
			return ordinal == 0 || slices.ContainsFunc(mine, func(b batch) bool { return b.First <= ordinal && ordinal < b.First+b.N }) &&
				f.madeWithin(id, ordinal, from, to)
		})
	}
	return x
}

// madeWithin says whether a marked unit of a run was made ready in a window; a
// unit whose own time is not known counts.
func (f *Fold) madeWithin(id runID, ordinal int, from, to stamp) bool {
	for _, s := range f.runs.row(id).Marks {
		if k := ordinal - s.At; k >= 0 && k <= int(s.To-s.From) {
			t := f.look(s.From + prep.Mark(k)).PreppedAt
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
	id := f.names.lookup(key)
	for _, r := range m.Runs {
		f.addRun(x, r, func(ordinal int) bool {
			return slices.ContainsFunc(f.runs.row(r).Materials, func(u use) bool { return u.MatLot == id && u.has(ordinal) })
		})
	}
	return x
}

// ofCarton gathers what a carton holds, or held when it left.
func (f *Fold) ofCarton(id cartonID) *exposed {
	x := newExposed()
	c := f.cartons.row(id)
	if c.Kept != nil {
		x.marks = prep.FromRuns(c.Kept.Marks)
	}
	x.marks = append(x.marks, f.places.row(c.Place).Marks...)
	f.heapsAt(c.Place, func(h heapIn) { x.heaps = append(x.heaps, h) })
	return x
}
