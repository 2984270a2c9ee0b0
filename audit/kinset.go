package audit

import (
	queue "container/heap"
	"slices"

	"packwright/prep"
)

// A set of siblings is answered in one of two ways. One that consists of whole
// runs is counted from their rows (kin.go), and its members are listed a page at a
// time. One that takes only some units of a run (a window of time, a material lot
// that was changed half-way, a carton) is gathered unit by unit; it is as small as
// the carton or the window. TestCountedAsGathered compares the two on random floors.

// PageMarks is how many marks a page of members holds.
const PageMarks = 200

// runSet is a set of whole runs, none named twice.
type runSet struct {
	f    *Fold
	runs []runID
	has  func(runID) bool
}

func (f *Fold) setOf(runs []runID) runSet {
	in := make([]bool, f.runs.size())
	for _, r := range runs {
		in[r] = true
	}
	return runSet{f, runs, func(r runID) bool { return in[r] }}
}

// runsBy gives every run by one recipe of one revision, or of all others.
func (f *Fold) runsBy(rev int, recipe name, others bool) (out []runID) {
	for id := 1; id < len(f.kin); id++ {
		if k := &f.kin[id]; k.Recipe == recipe && (int(k.Rev) == rev) != others {
			out = append(out, runID(id))
		}
	}
	return out
}

// siblings counts the set and gives the first page of its marks.
func (s runSet) siblings(axis Axis, key string) Siblings {
	f := s.f
	out := Siblings{Axis: axis, Key: key}
	var marks, class whereabouts
	for _, r := range s.runs {
		k := f.kinOf(r)
		marks.add(k.Marks)
		class.add(k.class)
	}
	for _, m := range f.vague {
		if s.holds(m) {
			marks[f.look(m).Stage.whereabout()]++
		}
	}
	for _, v := range f.several {
		if slices.ContainsFunc(v.runs, s.has) {
			class.add(v.at)
			out.AtMost = true
		}
	}
	out.Class = class.sum()
	out.N = marks.sum() + out.Class
	n := marks
	n.add(class)
	out.Here, out.Sealed, out.Dispatched, out.Elsewhere = int(n[isHere]), int(n[isSealed]), int(n[isDispatched]), int(n[isElsewhere])
	out.Marks, out.More = s.page(0, PageMarks)
	if marks[isHere] > 0 {
		out.HereMarks = s.here()
	}
	out.Odds.Complaints = f.complainedOf(s.holds, s.feeds)
	out.Next, out.Steps = out.next(), f.steps(out)
	return out
}

// holds says whether a unit with this mark is one of the set, or may be.
func (s runSet) holds(m prep.Mark) bool {
	u := s.f.bound(m)
	if u == nil || u.State == voided {
		return false
	}
	if u.Run != 0 {
		return s.has(u.Run)
	}
	return slices.ContainsFunc(s.f.origins[m], func(o origin) bool { return s.has(o.Run) })
}

// feeds says whether a heap may hold units of the set.
func (s runSet) feeds(h heapIn) bool { return slices.ContainsFunc(h.Runs, s.has) }

// here gives the marks of the set that are on the floor and not sealed: they stand
// on pages that are awake.
func (s runSet) here() prep.Marks {
	var out []prep.Mark
	for no, p := range s.f.marks.live {
		for i := range p.units {
			u, m := &p.units[i], prep.Mark(no*pageSize+uint32(i))
			if u.State == live && u.Stage.whereabout() == isHere && s.holds(m) {
				out = append(out, m)
			}
		}
	}
	return prep.NewMarks(out...)
}

// page gives at most n marks of the set from a mark on, and the first of those
// after them, or 0. Runs are opened in the order of their lowest marks, and no more
// of them than the page needs.
func (s runSet) page(from prep.Mark, n int) (prep.Marks, prep.Mark) {
	f := s.f
	var runs []runID
	for _, id := range s.runs {
		if k := f.kinOf(id); k.High >= from && k.High > 0 {
			runs = append(runs, id)
		}
	}
	next := &lowestFirst{f.kin, runs}
	queue.Init(next) // a page opens a few of what may be thousands
	var out []prep.Mark
	add := func(m prep.Mark) {
		if m >= from && s.holds(m) {
			out = append(out, m)
		}
	}
	for _, m := range f.vague {
		add(m)
	}
	for next.Len() > 0 {
		id := queue.Pop(next).(runID)
		if len(out) > n {
			if out = prep.NewMarks(out...); len(out) > n && f.kin[id].Low > out[n] {
				break
			}
		}
		f.runs.row(id).eachMark(from, add)
	}
	return cut(prep.NewMarks(out...), n)
}

// lowestFirst is runs as a heap, that of the lowest mark on top.
type lowestFirst struct {
	kin  []kin
	runs []runID
}

func (h *lowestFirst) Len() int           { return len(h.runs) }
func (h *lowestFirst) Less(i, j int) bool { return h.kin[h.runs[i]].Low < h.kin[h.runs[j]].Low }
func (h *lowestFirst) Swap(i, j int)      { h.runs[i], h.runs[j] = h.runs[j], h.runs[i] }
func (h *lowestFirst) Push(x any)         { h.runs = append(h.runs, x.(runID)) }

func (h *lowestFirst) Pop() any {
	last := len(h.runs) - 1
	id := h.runs[last]
	h.runs = h.runs[:last]
	return id
}

// eachMark gives the marks that a run's units got, from a mark on.
func (r *run) eachMark(from prep.Mark, fn func(prep.Mark)) {
	for _, span := range r.Marks {
		for m := max(span.From, from); m <= span.To; m++ {
			fn(m)
		}
	}
	for _, m := range r.Again {
		fn(m)
	}
}

// cut gives the first n of rising marks, and the one after them.
func cut(list prep.Marks, n int) (prep.Marks, prep.Mark) {
	if len(list) <= n {
		return list, 0
	}
	return list[:n:n], list[n]
}
