package audit

import (
	"slices"

	"packwright/prep"
)

// Of a carton that left, only the name of its last scale is kept beside its row,
// and what it left with is counted with the scale's. The cartons that are still here
// are few and counted one by one.

// scaleOf names the scale of a carton's last weighing, or 0.
func (f *Fold) scaleOf(id cartonID) name {
	if int(id) >= len(f.boxed) {
		return 0
	}
	return f.boxed[id]
}

// weighedOn keeps on which scale a carton was weighed last.
func (f *Fold) weighedOn(id cartonID, c *carton, scale name) {
	was := f.scaleOf(id)
	f.askAgain(f.cartons.Keys[id])
	if scale == was {
		return
	}
	for int(id) >= len(f.boxed) {
		f.boxed = append(f.boxed, 0)
	}
	f.countBox(id, c.Kept, -1)
	f.boxed[id] = scale
	f.setOfKey(setKey{kind: ofScale, of: int32(scale)})
	f.countBox(id, c.Kept, 1)
}

// countBox counts a carton in with its scale's, or out with n below zero: what
// it left with, or, with k nil, itself as one that is still here.
func (f *Fold) countBox(id cartonID, k *kept, n int32) {
	scale := f.scaleOf(id)
	if scale == 0 {
		return
	}
	if k == nil {
		at, here := slices.BinarySearch(f.onScale[scale], id)
		switch {
		case n > 0 && !here:
			f.onScale[scale] = slices.Insert(f.onScale[scale], at, id)
		case n < 0 && here:
			f.onScale[scale] = slices.Delete(f.onScale[scale], at, at+1)
		}
		return
	}
	s := f.setOfKey(setKey{kind: ofScale, of: int32(scale)})
	for _, h := range k.Heaps {
		s.Class[isDispatched] += n * int32(h.N)
	}
	for _, r := range k.Marks {
		s.Marks[isDispatched] += n * int32(r.To-r.From+1)
		for m := r.From; m <= r.To && len(f.bad) > 0; m++ {
			s.Marks[isComplained] += n * min(f.bad[m], 1)
		}
		if n > 0 {
			s.Spans.add(r)
		} else {
			s.Spans.cut(r)
		}
	}
}

// sent is told of a carton that leaves, and with what; back, of one that comes back.
func (f *Fold) sent(id cartonID, k *kept) {
	f.countBox(id, nil, -1)
	f.countBox(id, k, 1)
}

func (f *Fold) back(id cartonID, k *kept) {
	f.countBox(id, k, -1)
	f.countBox(id, nil, 1)
}

// scaleSet is the units in cartons that were last weighed on one scale.
type scaleSet struct {
	f     *Fold
	sent  *shared
	open  prep.Marks // in cartons that are still here
	heaps []heapIn
}

// scaledBy gives a scale's set. False: no carton was weighed on it.
func (f *Fold) scaledBy(key string) (scaleSet, bool) {
	scale := f.names.lookup(key)
	s := scaleSet{f: f, sent: f.sets[setKey{kind: ofScale, of: int32(scale)}]}
	if scale == 0 || s.sent == nil {
		return s, false
	}
	for _, id := range f.onScale[scale] {
		x := f.ofCarton(id)
		s.open, s.heaps = append(s.open, x.marks...), append(s.heaps, x.heaps...)
	}
	s.open = prep.NewMarks(s.open...)
	return s, true
}

// siblings counts the set and gives the first page of its marks.
func (s scaleSet) siblings(key string) Siblings {
	f, out := s.f, Siblings{Axis: ByScale, Key: key}
	marks, class := s.sent.Marks, s.sent.Class
	for _, m := range s.open {
		u := f.look(m)
		if marks.add(f.musterOf(m, u), 1); u.Stage.whereabout() == isHere {
			out.HereMarks = append(out.HereMarks, m)
		}
	}
	for _, h := range s.heaps {
		class[h.now.whereabout()] += int32(h.N)
	}
	out.fill(marks, class)
	out.Odds.Complaints += int(s.sent.sure)
	out.Marks, out.More = s.page(0, PageMarks)
	out.Next, out.Steps = out.next(), f.steps(out)
	return out
}

// page gives at most n marks of the set from a mark on, and the first of those
// after them, or 0.
func (s scaleSet) page(from prep.Mark, n int) (prep.Marks, prep.Mark) {
	at, _ := slices.BinarySearch(s.open, from)
	out := slices.Clone(s.open[at:])
	s.sent.Spans.each(from, func(m prep.Mark) bool {
		out = append(out, m)
		return len(out)-(len(s.open)-at) <= n
	})
	return cut(prep.NewMarks(out...), n)
}
