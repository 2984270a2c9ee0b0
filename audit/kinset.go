package audit

import (
	"slices"

	"packwright/prep"
)

// A set of siblings is counted from rows that are kept up as units move, never by
// going through its units: one run from its own row (kin.go) and its few marks of
// doubtful origin; all that share a thing from the row of that thing (kinshared.go);
// what one badge made in a window of time from sums over the batches (kinwindow.go);
// a scale's cartons from the scale's row and those still here (kincarton.go). Members
// are listed a page at a time. Only a carton is gathered unit by unit (exposed.go); it
// is as small as the carton. TestSumsAsGathered and TestSumsOfAnyFloor compare each with the
// units themselves on random floors.

// PageMarks is how many marks a page of members holds.
const PageMarks = 200

// fill counts a set.
func (s *Siblings) fill(marks muster, class whereabouts) {
	s.Class = int(class.sum())
	s.Odds.Complaints = int(marks[isComplained])
	n := marks.where()
	n.add(class, 1)
	s.N = int(n.sum())
	s.Here, s.Sealed, s.Dispatched, s.Elsewhere = int(n[isHere]), int(n[isSealed]), int(n[isDispatched]), int(n[isElsewhere])
}

// along counts the set of what units share.
func (f *Fold) along(axis Axis, key string, k setKey) Siblings {
	s := f.sets[k]
	out := Siblings{Axis: axis, Key: key}
	out.fill(s.Marks, s.Class)
	out.AtMost = s.Poured > 0 || k.kind == ofMaterial && f.partly(name(k.of))
	out.Odds.Complaints += int(s.sure)
	out.Marks, out.More = f.pageOf(s.Spans, 0, PageMarks)
	if s.Marks[isHere] > 0 {
		out.HereMarks = f.hereMarks(s.Spans.has)
	}
	out.Next, out.Steps = out.next(), f.steps(out)
	return out
}

// othersOf gives what the other revisions of a recipe come to: how many of their
// units were complained of, of how many.
func (f *Fold) othersOf(k setKey) Tally {
	s, all := f.sets[k], f.sets[setKey{ofRecipe, k.of, 0}]
	n, own, class := all.Marks, s.Marks, all.Class
	own.add(s.Twice, -1)
	n.add(own, -1)
	class.add(s.Class, -1)
	t := Tally{Bad: int(n[isComplained] + all.sure - s.sole)}
	t.Of = int(n.where().sum() + class.sum())
	t.Bad = min(t.Bad, t.Of)
	return t
}

// partly says whether of a run that a lot of material was changed in half-way there
// are units without marks: nobody can say which of them got of it.
func (f *Fold) partly(matlot name) bool {
	m := f.matlots[f.names.text(matlot)]
	return m != nil && slices.ContainsFunc(m.Mixed, func(id runID) bool {
		k := f.kinOf(id)
		if k.Class == (whereabouts{}) {
			return false
		}
		r := f.runs.row(id)
		some, all := false, true
		for n := 1; n <= r.Made; n++ {
			got := slices.ContainsFunc(r.Materials, func(u use) bool { return u.MatLot == matlot && u.has(n) })
			some, all = some || got, all && got
		}
		return !all && (some || slices.ContainsFunc(r.Materials, func(u use) bool { return u.MatLot == matlot && u.has(0) }))
	})
}

// pageOf gives at most n marks of a set from a mark on, and the first of those
// after them, or 0.
func (f *Fold) pageOf(s spans, from prep.Mark, n int) (prep.Marks, prep.Mark) {
	var out prep.Marks
	s.each(from, func(m prep.Mark) bool {
		if f.counted(m, f.look(m)) {
			out = append(out, m)
		}
		return len(out) <= n
	})
	return cut(out, n)
}

// hereMarks gives the marks of a set that are on the floor and not sealed: they
// stand on pages that are awake.
func (f *Fold) hereMarks(holds func(prep.Mark) bool) prep.Marks {
	var out []prep.Mark
	for no, p := range f.marks.live {
		for i := range p.units {
			u, m := &p.units[i], prep.Mark(no*pageSize+uint32(i))
			if u.State == live && u.Stage.whereabout() == isHere && f.counted(m, u) && holds(m) {
				out = append(out, m)
			}
		}
	}
	return prep.NewMarks(out...)
}

// runSet is a few whole runs, none named twice: one, or those of a lot that one run
// works on.
type runSet struct {
	f    *Fold
	runs []runID
}

func (f *Fold) setOf(runs []runID) runSet { return runSet{f, runs} }

func (s runSet) has(r runID) bool { return slices.Contains(s.runs, r) }

// siblings counts the set and gives the first page of its marks. A set that has
// a row of its own is counted by that.
func (s runSet) siblings(axis Axis, key string) Siblings {
	f := s.f
	if k, ok := f.keyNamed(axis, key); ok {
		return f.along(axis, key, k)
	}
	out := Siblings{Axis: axis, Key: key}
	var marks muster
	var class whereabouts
	poured, claims := map[*several]bool{}, map[string]bool{}
	for _, id := range s.runs {
		k := f.kinOf(id)
		marks.add(k.Marks, 1)
		class.add(k.Class, 1)
		for _, v := range f.pouredWith[id] {
			poured[v] = true
		}
		for _, c := range f.askedOf[id] {
			claims[c] = true
		}
	}
	for _, m := range s.vague() {
		marks.add(f.musterOf(m, f.look(m)), 1)
	}
	for v := range poured {
		class.add(v.At, 1)
		out.AtMost = true
	}
	out.fill(marks, class)
	out.Odds.Complaints += f.surelyOf(claims, s.holds, s.feeds)
	out.Marks, out.More = s.page(0, PageMarks)
	if marks[isHere] > 0 {
		out.HereMarks = f.hereMarks(s.holds)
	}
	out.Next, out.Steps = out.next(), f.steps(out)
	return out
}

// vague gives the marks that may be on goods of these runs and on those of others.
func (s runSet) vague() prep.Marks {
	var out []prep.Mark
	for _, id := range s.runs {
		if s.f.kinOf(id).Again == 0 {
			continue
		}
		for _, m := range s.f.runs.row(id).Again {
			if u := s.f.look(m); u.Run == 0 && s.f.counted(m, u) {
				out = append(out, m)
			}
		}
	}
	return prep.NewMarks(out...)
}

// holds says whether a unit with this mark is one of the set, or may be.
func (s runSet) holds(m prep.Mark) bool {
	u := s.f.look(m)
	if !s.f.counted(m, u) {
		return false
	}
	if u.Run != 0 {
		return s.has(u.Run)
	}
	return slices.ContainsFunc(s.f.origins[m], func(o origin) bool { return s.has(o.Run) })
}

// feeds says whether a heap may hold units of the set.
func (s runSet) feeds(h heapIn) bool { return slices.ContainsFunc(h.Runs, s.has) }

// page gives at most n marks of the set from a mark on, and the first of those
// after them, or 0.
func (s runSet) page(from prep.Mark, n int) (prep.Marks, prep.Mark) {
	var out []prep.Mark
	for _, id := range s.runs {
		s.f.runs.row(id).eachMark(from, func(m prep.Mark) {
			if m >= from && s.holds(m) {
				out = append(out, m)
			}
		})
	}
	return cut(prep.NewMarks(out...), n)
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

// marksOf gives the first marks of n of a run's units, from an ordinal on.
func (r *run) marksOf(first, n int, fn func(prep.Mark)) {
	for _, s := range r.Marks {
		for k := max(first, s.At); k < first+n && k <= s.At+int(s.To-s.From); k++ {
			fn(s.From + prep.Mark(k-s.At))
		}
	}
}

// cut gives the first n of rising marks, and the one after them.
func cut(list prep.Marks, n int) (prep.Marks, prep.Mark) {
	if len(list) <= n {
		return list, 0
	}
	return list[:n:n], list[n]
}
