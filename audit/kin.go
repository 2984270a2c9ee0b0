package audit

import (
	"encoding/binary"
	"iter"
	"slices"

	"packwright/prep"
)

// kin is what a run's units come to, kept up with each event, so that no set of
// runs is counted by reading a unit. It is one row of 68 bytes a run and never rests.
type kin struct {
	Rev    int32
	Recipe name
	From   stamp       // when it was opened, or made its first unit
	Last   stamp       // when it made its last
	Marks  muster      // units with marks that are surely this run's
	Class  whereabouts // units without, in heaps that are this run's alone
	Made   int32       // units brought to stage prepped
	Again  int32       // marks given later to units that may be this run's
}

// whereabouts counts units by where they are: on the floor, sealed, dispatched,
// or gone another way.
type whereabouts [4]int32

// muster is whereabouts, and how many of the units were complained of.
type muster [5]int32

const (
	isHere = iota
	isSealed
	isDispatched
	isElsewhere
	isComplained
)

// whereabout says where a unit at a stage is.
func (s stage) whereabout() int {
	switch {
	case s == dispatched:
		return isDispatched
	case s == sealed:
		return isSealed
	case s.gone():
		return isElsewhere
	}
	return isHere
}

// add counts n times as many in.
func (w *whereabouts) add(o whereabouts, n int32) {
	for i := range w {
		w[i] += n * o[i]
	}
}

func (w whereabouts) sum() (n int32) {
	for _, k := range w {
		n += k
	}
	return n
}

// add counts n times as many in.
func (w *muster) add(o muster, n int32) {
	for i := range w {
		w[i] += n * o[i]
	}
}

// where gives the units without the complaints.
func (w muster) where() whereabouts { return whereabouts(w[:isComplained]) }

// several is heaps that the same runs fed, taken together: nobody can say which
// unit is of which run.
type several struct {
	Runs []runID
	At   whereabouts
}

// kinOf gives the row of a run, made when it is opened.
func (f *Fold) kinOf(id runID) *kin {
	for int(id) >= len(f.kin) {
		f.kin = append(f.kin, kin{})
	}
	return &f.kin[id]
}

// seen widens the time that a run was worked in.
func (k *kin) seen(at stamp) {
	k.From, k.Last = earlier(k.From, at), max(k.Last, at)
}

// worked gives the runs that were worked in at some time between two moments.
func (f *Fold) worked(from, to stamp) iter.Seq2[runID, *run] {
	return func(yield func(runID, *run) bool) {
		for id, k := range f.kin {
			if id > 0 && k.Last >= from && k.From <= to && !yield(runID(id), f.runs.row(runID(id))) {
				return
			}
		}
	}
}

// counted says whether a unit is one of its siblings: a cancelled mark is no unit,
// and one of no run has none.
func (f *Fold) counted(m prep.Mark, u *unit) bool {
	return (u.State == live || u.State == left) && (u.Run != 0 || len(f.origins[m]) > 0)
}

// musterOf counts one unit.
func (f *Fold) musterOf(m prep.Mark, u *unit) (by muster) {
	by[u.Stage.whereabout()] = 1
	if f.bad[m] > 0 {
		by[isComplained] = 1
	}
	return by
}

// kinMark counts a marked unit in with its run and with all that the run's units
// share, or out with n below zero.
func (f *Fold) kinMark(m prep.Mark, u *unit, n int32) {
	if f.counted(m, u) {
		f.moveMark(m, u, f.musterOf(m, u), n)
	}
}

func (f *Fold) moveMark(m prep.Mark, u *unit, by muster, n int32) {
	if u.Run != 0 {
		f.kinOf(u.Run).Marks.add(by, n)
	}
	k := len(f.moved) - 1
	if k < 0 || f.moved[k].mark != m || f.moved[k].run != u.Run {
		f.moved = append(f.moved, movedMark{mark: m, run: u.Run})
		k++
	}
	f.moved[k].by.add(by, n)
}

// gotMark is told once of each mark that a run's unit got, when it is counted.
func (f *Fold) gotMark(m prep.Mark) {
	if k := len(f.moved) - 1; k >= 0 && f.moved[k].mark == m {
		f.moved[k].fresh = true
	}
}

// kinHeap counts n units of a heap in with its runs, or out with n below zero.
func (f *Fold) kinHeap(h *heap, n int) {
	if len(h.Runs) == 0 || h.Marked || n == 0 {
		return
	}
	var by whereabouts
	by[h.Stage.whereabout()] = int32(n)
	if len(h.Runs) == 1 {
		f.kinOf(h.Runs[0]).Class.add(by, 1)
		k := len(f.heaped) - 1
		if k < 0 || f.heaped[k].run != h.Runs[0] {
			f.heaped = append(f.heaped, heaped{run: h.Runs[0]})
			k++
		}
		f.heaped[k].by.add(by, 1)
		return
	}
	s := f.severalOf(h.Runs)
	s.At.add(by, 1)
	k := len(f.heaped) - 1
	if k < 0 || f.heaped[k].runs != s {
		f.heaped = append(f.heaped, heaped{runs: s})
		k++
	}
	f.heaped[k].by.add(by, 1)
}

// severalOf gives the row of heaps that just these runs fed.
func (f *Fold) severalOf(runs []runID) *several {
	key := runsKey(runs)
	s := f.several[key]
	if s == nil {
		s = &several{Runs: runs}
		f.enterSeveral(key, s)
	}
	return s
}

func (f *Fold) enterSeveral(key string, s *several) {
	f.several[key] = s
	for _, r := range s.Runs {
		f.pouredWith[r] = append(f.pouredWith[r], s)
	}
}

// dropSeveral forgets a row of heaps that are no more.
func (f *Fold) dropSeveral(s *several) {
	key := runsKey(s.Runs)
	if s.At != (whereabouts{}) || f.several[key] != s {
		return
	}
	delete(f.several, key)
	for _, r := range s.Runs {
		rest := slices.DeleteFunc(f.pouredWith[r], func(o *several) bool { return o == s })
		if f.pouredWith[r] = rest; len(rest) == 0 {
			delete(f.pouredWith, r)
		}
	}
}

func runsKey(list []runID) string {
	var b []byte
	for _, r := range list {
		b = binary.AppendUvarint(b, uint64(r))
	}
	return string(b)
}
