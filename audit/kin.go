package audit

import (
	"encoding/binary"
	"iter"

	"packwright/prep"
)

// kin is what a run's units come to, kept up with each event, so that sets of many
// runs (all by one recipe, all of one lot) are counted without reading a unit. It
// is one row of 72 bytes a run and never rests.
type kin struct {
	Rev        int32
	Recipe     name
	From, Last stamp       // from when it was opened, or made its first unit, to when it made its last
	Low, High  prep.Mark   // between which its units' marks lie
	Marks      whereabouts // units with marks that are surely this run's
	class      whereabouts // units without, in heaps that are this run's alone
}

// whereabouts counts units by where they are: on the floor, sealed, dispatched,
// or gone another way.
type whereabouts [4]int32

const (
	isHere = iota
	isSealed
	isDispatched
	isElsewhere
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

func (w *whereabouts) add(o whereabouts) {
	for i := range w {
		w[i] += o[i]
	}
}

func (w whereabouts) sum() (n int) {
	for _, k := range w {
		n += int(k)
	}
	return n
}

// several is heaps that the same runs fed, taken together: nobody can say which
// unit is of which run.
type several struct {
	runs []runID
	at   whereabouts
}

// kinOf gives the row of a run, made when it is opened.
func (f *Fold) kinOf(id runID) *kin {
	for int(id) >= len(f.kin) {
		f.kin = append(f.kin, kin{})
	}
	return &f.kin[id]
}

// took widens the range of its units' marks.
func (k *kin) took(m prep.Mark) {
	if k.Low == 0 || m < k.Low {
		k.Low = m
	}
	k.High = max(k.High, m)
}

// seen widens the time that a run was worked in.
func (k *kin) seen(at stamp) {
	k.From, k.Last = earlier(k.From, at), max(k.Last, at)
}

// kinMark counts a marked unit in with its run, or out with n below zero. A
// cancelled mark is no unit. Units that more than one run may have made are found
// by their origins instead.
func (f *Fold) kinMark(u *unit, n int32) {
	if u.Run != 0 && (u.State == live || u.State == left) {
		f.kinOf(u.Run).Marks[u.Stage.whereabout()] += n
	}
}

// kinHeap counts n units of a heap in with its runs, or out with n below zero.
func (f *Fold) kinHeap(h *heap, n int) {
	switch {
	case len(h.Runs) == 0 || h.Marked:
	case len(h.Runs) == 1:
		f.kinOf(h.Runs[0]).class[h.Stage.whereabout()] += int32(n)
	default:
		key := runsKey(h.Runs)
		s := f.several[key]
		if s == nil {
			s = &several{runs: h.Runs}
			f.several[key] = s
		}
		if s.at[h.Stage.whereabout()] += int32(n); s.at == (whereabouts{}) {
			delete(f.several, key)
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
