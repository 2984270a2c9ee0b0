package audit

import (
	"packwright/prep"
)

// exposed is the units of a set that is gathered one by one.
type exposed struct {
	marks []prep.Mark
	heaps []heapIn
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

// lotsOfRun gives the lots whose units a run made: its own, and last those of what
// it built.
func (f *Fold) lotsOfRun(id runID) []lotID {
	r := f.runs.row(id)
	return append([]lotID{r.Lot}, r.Also...)
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

// ofCarton gathers what a carton holds, or held when it left.
func (f *Fold) ofCarton(id cartonID) *exposed {
	x := &exposed{}
	c := f.cartons.row(id)
	if c.Kept != nil {
		x.marks = prep.FromRuns(c.Kept.Marks)
	}
	x.marks = append(x.marks, f.places.row(c.Place).Marks...)
	f.heapsAt(c.Place, func(h heapIn) { x.heaps = append(x.heaps, h) })
	return x
}
