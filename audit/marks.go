package audit

import (
	"fmt"
	"slices"

	"packwright/events"
	"packwright/prep"
)

// unit is the record of one mark, from the moment it is bound to a piece. It
// stays for ever: a claim comes weeks after the carton has gone.
type unit struct {
	Lot       lotID
	Run       runID // the run that made the goods; 0: more than one may have, see Fold.origins
	Ordinal   int32 // the how-manieth unit of that run, from 1; 0: not known
	Place     placeID
	Pos       int32    // its index in the place's Marks
	Carton    cartonID // the last it was placed in
	Stage     stage    // for one that is gone, how it went
	State     markState
	Prepped   ref
	PreppedAt stamp
	Placed    ref
	PlacedAt  stamp
	PlacedBy  name
	PlacedOn  name // station

	slot int32 // index+1 of its cell's hash in hashes.list; 0: not kept
}

// markState is what became of a mark.
type markState uint8

const (
	neverBound markState = iota
	live
	left   // with its unit: dispatched, diverted, written off, consumed, unaccounted
	voided // cancelled; its unit may bear another
)

// hashes keeps the cell hashes of marked units that are on the floor.
type hashes struct {
	list []events.Digest
	free []int32
}

// markHash gives the hash of the unit's present cell.
func (f *Fold) markHash(u *unit, m prep.Mark) events.Digest {
	if u.slot > 0 {
		return f.hashes.list[u.slot-1]
	}
	h := f.cellHash(u.Lot, u.Stage, u.Place, m)
	if n := len(f.hashes.free); n > 0 {
		u.slot = f.hashes.free[n-1]
		f.hashes.free = f.hashes.free[:n-1]
		f.hashes.list[u.slot-1] = h
	} else {
		f.hashes.list = append(f.hashes.list, h)
		u.slot = int32(len(f.hashes.list))
	}
	return h
}

// forget drops the kept hash: the unit's cell is about to change.
func (f *Fold) forget(u *unit) {
	if u.slot > 0 {
		f.hashes.free = append(f.hashes.free, u.slot)
		u.slot = 0
	}
}

// putMark lays a marked unit into a place.
func (f *Fold) putMark(m prep.Mark, at placeID, lot lotID, s stage) {
	u, p := f.unit(m), f.places.change(at)
	u.Lot, u.Place, u.Stage, u.State, u.Pos = lot, at, s, live, int32(len(p.Marks))
	p.Marks = append(p.Marks, m)
	f.seen(lot, at)
	f.enter(f.markHash(u, m), lot, s, 1)
	f.kinMark(m, u, 1)
	f.stirred(at)
}

// takeMark lifts a marked unit out of the place where it must be.
func (f *Fold) takeMark(m prep.Mark, at placeID, lot lotID, s stage) error {
	u := f.unit(m)
	switch {
	case u.State == neverBound:
		return fmt.Errorf("%s was never put on a unit", m)
	case u.State == voided:
		return fmt.Errorf("%s is cancelled", m)
	case u.State == left:
		return fmt.Errorf("%s has left the floor: %s", m, u.Stage.name())
	case u.Lot != lot || u.Stage != s || u.Place != at:
		return fmt.Errorf("%s of %s at %s is to leave %s; it is of %s at %s in %s", m, f.lots.Keys[lot], s.name(), f.places.Keys[at],
			f.lots.Keys[u.Lot], u.Stage.name(), f.places.Keys[u.Place])
	}
	f.enter(f.markHash(u, m), lot, s, -1)
	f.kinMark(m, u, -1)
	f.stirred(at)
	f.forget(u)
	p := f.places.change(at)
	end := len(p.Marks) - 1
	moved := p.Marks[end]
	p.Marks[u.Pos] = moved
	f.unit(moved).Pos = u.Pos
	p.Marks = p.Marks[:end]
	u.Place, u.Pos, u.State = 0, 0, left
	return nil
}

// origin is a unit of a run that has lost its mark: what a new mark may inherit.
type origin struct {
	Run     runID
	Ordinal int32
	Mark    prep.Mark // the cancelled one
	Ref     ref       // where and when it was made ready, under its first mark
	At      stamp
	Maybe   bool // another mark may have taken it already
}

// void turns a marked unit into an anonymous one of the lot's unmarked cell.
func (f *Fold) void(m prep.Mark, at placeID, lot lotID, s stage, when stamp) error {
	if err := f.takeMark(m, at, lot, s); err != nil {
		return err
	}
	u := f.unit(m)
	u.State, u.Stage = voided, unmarked
	f.put(at, heap{Lot: lot, Stage: unmarked, N: 1, Runs: f.runsOf(m, u), First: when, Last: when})
	l := f.lots.change(lot)
	for _, o := range f.originsOf(m, u) {
		o.Mark, o.Maybe = m, false
		l.Bare = append(l.Bare, o)
	}
	return nil
}

// remark gives an unmarked unit of the lot a mark. The goods keep their own
// past: when only one unit of the lot (and run, if named) has lost its mark, the
// new mark inherits its run and place in it; when several have, it may be any of
// them, and the record says so.
func (f *Fold) remark(m prep.Mark, lot lotID, run runID) {
	l := f.lots.change(lot)
	var fits []int
	for i, o := range l.Bare {
		if run == 0 || o.Run == run {
			fits = append(fits, i)
		}
	}
	u := f.unit(m)
	switch {
	case len(fits) == 1 && !l.Bare[fits[0]].Maybe:
		o := l.Bare[fits[0]]
		u.Run, u.Ordinal = o.Run, o.Ordinal
		f.origins[m] = []origin{o}
		l.Bare = slices.Delete(l.Bare, fits[0], fits[0]+1)
	case len(fits) == 0:
		u.Run = run
	default:
		var may []origin
		for _, i := range fits {
			may = append(may, l.Bare[i])
			l.Bare[i].Maybe = true
		}
		u.Run = oneRun(may)
		f.origins[m] = may
	}
	f.kinMark(m, u, 1)
	f.gotMark(m)
	for _, r := range f.runsOf(m, u) {
		again := f.runs.change(r)
		f.kinOf(r).Again++
		again.Again = append(again.Again, m)
	}
	f.settleBare(lot)
	f.narrowBare(lot)
}

// narrowBare: while it is known which units of a lot lack a mark, their heaps name
// no other runs.
func (f *Fold) narrowBare(lot lotID) {
	l := f.lots.change(lot)
	var runs []runID
	for _, o := range l.Bare {
		if o.Maybe || o.Run == 0 {
			return
		}
		runs = unionRuns(runs, []runID{o.Run})
	}
	if len(l.Bare) != f.countAt(lot, unmarked) {
		return
	}
	for _, at := range l.Places {
		heaps := f.places.change(at).Heaps
		for i := range heaps {
			if h := &heaps[i]; h.Lot == lot && h.Stage == unmarked {
				f.kinHeap(h, -h.N)
				h.Runs = slices.DeleteFunc(slices.Clone(h.Runs), func(r runID) bool { return !slices.Contains(runs, r) })
				f.kinHeap(h, h.N)
				f.stirred(at)
			}
		}
	}
}

// settleBare forgets the bare units of a lot once none of its units lacks a mark.
func (f *Fold) settleBare(lot lotID) {
	l := f.lots.change(lot)
	if len(l.Bare) > 0 && f.countAt(lot, unmarked) == 0 {
		l.Bare = nil
	}
}

// loseBare is for unmarked units that leave without a new mark: nobody can say
// which of several they were.
func (f *Fold) loseBare(lot lotID) {
	l := f.lots.change(lot)
	for i := range l.Bare {
		l.Bare[i].Maybe = true
	}
	f.settleBare(lot)
}

// originsOf gives what the goods under a mark may be: one entry when it is known.
func (f *Fold) originsOf(m prep.Mark, u *unit) []origin {
	if more := f.origins[m]; len(more) > 0 {
		return more
	}
	return []origin{{Run: u.Run, Ordinal: u.Ordinal, Mark: m, Ref: u.Prepped, At: u.PreppedAt}}
}

// runsOf gives the runs that may have made the goods under a mark.
func (f *Fold) runsOf(m prep.Mark, u *unit) []runID {
	var out []runID
	for _, o := range f.originsOf(m, u) {
		if o.Run != 0 {
			out = append(out, o.Run)
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

func oneRun(list []origin) runID {
	for _, o := range list {
		if o.Run != list[0].Run {
			return 0
		}
	}
	return list[0].Run
}

// countAt counts the lot's anonymous units at a stage, wherever they lie.
func (f *Fold) countAt(lot lotID, s stage) int {
	n := 0
	for _, at := range f.lots.row(lot).Places {
		for _, h := range f.places.row(at).Heaps {
			if h.Lot == lot && h.Stage == s {
				n += h.N
			}
		}
	}
	return n
}
