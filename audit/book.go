package audit

import (
	"fmt"
	"slices"

	"packwright/events"
	"packwright/prep"
)

// stage is an events.Stage as its place in events.Stages.
type stage uint8

const (
	received stage = iota
	triaged
	prepped
	counted
	sealed
	dispatched
	held
	unmarked
	diverted
	writtenOff
	consumed
	unaccounted
	stageCount
)

func (s stage) name() events.Stage { return events.Stages[s] }

func (s stage) gone() bool { return s == dispatched || s >= diverted }

// stageOf is the inverse of name.
func stageOf(s events.Stage) (stage, error) {
	if i := slices.Index(events.Stages, s); i >= 0 {
		return stage(i), nil
	}
	return 0, fmt.Errorf("there is no stage %q", s)
}

// heap is n anonymous units of a lot at one stage in one place: nothing tells
// one of them from another. Runs are those that may have made them; a heap that
// two runs fed names both, because nobody can say which unit came from which.
type heap struct {
	Lot         lotID
	Stage       stage
	N           int
	Marked      bool    // gone units that bore marks; the marks' own records tell more
	Runs        []runID // rising; shared between heaps, never changed in place
	First, Last stamp   // when units came to lie here

	hash   events.Digest
	hashed bool
}

// place is a tote, a bench, an aside tote or a carton, and what lies in it.
type place struct {
	Heaps  []heap
	Marks  []prep.Mark // in no order
	Carton cartonID    // 0: it is no carton
	Moved  name        // where a tote stands
	Trail  trail
}

// spot is where units are: a stage and, unless they are gone, a place.
type spot struct {
	stage stage
	place string
}

// goods are units that move together: q anonymous ones, or the marked ones.
type goods struct {
	lot, item string
	q         int
	marks     prep.Marks
}

// enter adds n units of a cell to the books, or takes them out when n is below
// zero. Every change of the books comes through here, so the digest, the lot's sum
// and the stage's sum follow here and nowhere else.
func (f *Fold) enter(h events.Digest, lot lotID, s stage, n int) {
	f.digest.Add(h, n)
	f.byStage[s] += n
	f.lots.change(lot).Sum += n
	if len(f.touched) == 0 || f.touched[len(f.touched)-1] != lot {
		f.touched = append(f.touched, lot)
	}
}

func (f *Fold) cellHash(lot lotID, s stage, at placeID, m prep.Mark) events.Digest {
	l := f.lots.row(lot)
	return events.Cell{Lot: f.lots.Keys[lot], Item: f.names.text(l.Item), Stage: s.name(), Place: f.places.Keys[at], Mark: m}.Hash()
}

// hashOf gives a heap's cell hash, worked out once.
func (f *Fold) hashOf(h *heap, at placeID) events.Digest {
	if !h.hashed {
		h.hash, h.hashed = f.cellHash(h.Lot, h.Stage, at, 0), true
	}
	return h.hash
}

// put adds n anonymous units.
func (f *Fold) put(at placeID, h heap) {
	p := f.places.change(at)
	i := slices.IndexFunc(p.Heaps, func(o heap) bool { return o.Lot == h.Lot && o.Stage == h.Stage })
	if i < 0 {
		h.hashed = false
		p.Heaps = append(p.Heaps, h)
		i = len(p.Heaps) - 1
		f.seen(h.Lot, at)
		f.kinHeap(&h, h.N)
	} else {
		o := &p.Heaps[i]
		f.kinHeap(o, -o.N) // it may be of more runs from now on
		o.N += h.N
		o.Runs = unionRuns(o.Runs, h.Runs)
		o.First, o.Last = earlier(o.First, h.First), max(o.Last, h.Last)
		f.kinHeap(o, o.N)
	}
	f.enter(f.hashOf(&p.Heaps[i], at), h.Lot, h.Stage, h.N)
	f.stirred(at)
}

// take removes n anonymous units and gives them as a heap of their own.
func (f *Fold) take(at placeID, lot lotID, s stage, n int) (heap, error) {
	p := f.places.change(at)
	i := slices.IndexFunc(p.Heaps, func(o heap) bool { return o.Lot == lot && o.Stage == s })
	if i < 0 || p.Heaps[i].N < n {
		there := 0
		if i >= 0 {
			there = p.Heaps[i].N
		}
		return heap{}, fmt.Errorf("%d of %s at %s are to leave %s; there are %d", n, f.lots.Keys[lot], s.name(), f.places.Keys[at], there)
	}
	o := &p.Heaps[i]
	f.stirred(at)
	f.enter(f.hashOf(o, at), lot, s, -n)
	f.kinHeap(o, -n)
	out := *o
	out.N = n
	if o.N -= n; o.N == 0 {
		p.Heaps = slices.Delete(p.Heaps, i, i+1)
	}
	return out, nil
}

// bury adds n units to those of the lot that have left the floor.
func (f *Fold) bury(h heap) {
	gone := &f.lots.change(h.Lot).Gone
	i := slices.IndexFunc(*gone, func(o heap) bool {
		return o.Stage == h.Stage && o.Marked == h.Marked && slices.Equal(o.Runs, h.Runs)
	})
	if i < 0 {
		h.hashed = false
		*gone = append(*gone, h)
		i = len(*gone) - 1
	} else {
		(*gone)[i].N += h.N
		(*gone)[i].Last = max((*gone)[i].Last, h.Last)
	}
	f.enter(f.hashOf(&(*gone)[i], 0), h.Lot, h.Stage, h.N)
	f.kinHeap(&h, h.N)
}

// raise takes n units back from those that have left. want, when not nil, names
// the runs that they must be of; without it they come from where there are some.
func (f *Fold) raise(lot lotID, s stage, n int, want *heap) (heap, error) {
	gone := &f.lots.change(lot).Gone
	out := heap{Lot: lot, N: n}
	for i := 0; i < len(*gone) && n > 0; {
		o := &(*gone)[i]
		if o.Stage != s || want != nil && (o.Marked != want.Marked || !slices.Equal(o.Runs, want.Runs)) {
			i++
			continue
		}
		k := min(n, o.N)
		f.enter(f.hashOf(o, 0), lot, s, -k)
		f.kinHeap(o, -k)
		out.Runs = unionRuns(out.Runs, o.Runs)
		n -= k
		if o.N -= k; o.N == 0 {
			*gone = slices.Delete(*gone, i, i+1)
			continue
		}
		i++
	}
	if n > 0 {
		return heap{}, fmt.Errorf("%d units of %s more than ever left as %s are to come back", n, f.lots.Keys[lot], s.name())
	}
	return out, nil
}

// move takes goods from one spot to another, marked or not by the same way.
func (f *Fold) move(g goods, from, to spot, at stamp) error {
	lot, err := f.lotOf(g.lot, g.item)
	if err != nil {
		return err
	}
	if g.q < 1 || len(g.marks) > 0 && len(g.marks) != g.q {
		return fmt.Errorf("%d units with %d marks cannot be moved", g.q, len(g.marks))
	}
	src, ok := f.places.find(from.place)
	switch {
	case !ok:
		return fmt.Errorf("nothing was ever in %q", from.place)
	case to.place == "" && !to.stage.gone():
		return fmt.Errorf("units at %s are to go nowhere", to.stage.name())
	}
	if len(g.marks) == 0 {
		h, err := f.take(src, lot, from.stage, g.q)
		if err != nil {
			return err
		}
		h.Stage, h.First, h.Last = to.stage, at, at
		if to.stage.gone() {
			f.bury(h)
			return nil
		}
		f.put(f.placeOf(to.place), h)
		return nil
	}
	for _, m := range g.marks {
		if err := f.takeMark(m, src, lot, from.stage); err != nil {
			return err
		}
		if to.stage.gone() {
			u := f.unit(m)
			u.Stage = to.stage
			f.kinMark(m, u, 1)
			continue
		}
		f.putMark(m, f.placeOf(to.place), lot, to.stage)
	}
	if to.stage.gone() {
		f.bury(heap{Lot: lot, Stage: to.stage, N: g.q, Marked: true, First: at, Last: at})
	}
	return nil
}

// restage moves all that is at one stage in a place to another stage there, and
// says how many units that were.
func (f *Fold) restage(at placeID, from, to stage) int {
	p, n := f.places.change(at), 0
	for i := 0; i < len(p.Heaps); {
		h := p.Heaps[i]
		if h.Stage != from {
			i++
			continue
		}
		n += h.N
		f.enter(f.hashOf(&p.Heaps[i], at), h.Lot, from, -h.N)
		f.kinHeap(&h, -h.N)
		p.Heaps = slices.Delete(p.Heaps, i, i+1)
		h.Stage = to
		f.put(at, h)
	}
	for _, m := range p.Marks {
		u := f.unit(m)
		if u.Stage != from {
			continue
		}
		n++
		f.enter(f.markHash(u, m), u.Lot, from, -1)
		f.kinMark(m, u, -1)
		u.Stage = to
		f.kinMark(m, u, 1)
		f.forget(u)
		f.enter(f.markHash(u, m), u.Lot, to, 1)
	}
	return n
}

// seen keeps, for a lot, the places it ever lay in.
func (f *Fold) seen(lot lotID, at placeID) {
	l := f.lots.change(lot)
	for i := len(l.Places) - 1; i >= 0; i-- {
		if l.Places[i] == at {
			return
		}
	}
	l.Places = append(l.Places, at)
}

func (f *Fold) placeOf(name string) placeID { return f.places.id(name) }

func earlier(a, b stamp) stamp {
	if a == 0 || b != 0 && b < a {
		return b
	}
	return a
}
