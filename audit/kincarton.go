package audit

import (
	"cmp"
	"slices"

	"packwright/prep"
)

// cartonKin is what a scale's set needs of a carton: one row of 24 bytes a carton, which
// never rests, so that no carton that left is opened to count it.
type cartonKin struct {
	Scale     name      // of its last weighing
	Sent      int32     // units that it left with; 0: it is still here
	Class     int32     // of those, without a mark
	Low, High prep.Mark // between which the marks of those lie
}

// boxedOf gives the row of a carton, made when it is first weighed or sent.
func (f *Fold) boxedOf(id cartonID) *cartonKin {
	for int(id) >= len(f.boxed) {
		f.boxed = append(f.boxed, cartonKin{})
	}
	return &f.boxed[id]
}

// scaleOf names the scale of a carton's last weighing, or 0.
func (f *Fold) scaleOf(id cartonID) name {
	if int(id) >= len(f.boxed) {
		return 0
	}
	return f.boxed[id].Scale
}

// sentWith keeps what a carton left with; nil: it came back.
func (f *Fold) sentWith(id cartonID, k *kept) {
	b := f.boxedOf(id)
	*b = cartonKin{Scale: b.Scale}
	if k == nil {
		return
	}
	b.Sent = int32(k.units())
	for _, h := range k.Heaps {
		b.Class += int32(h.N)
	}
	for _, r := range k.Marks {
		if b.Low == 0 || r.From < b.Low {
			b.Low = r.From
		}
		b.High = max(b.High, r.To)
	}
}

// scaleSet is the units in cartons that were last weighed on one scale.
type scaleSet struct {
	f     *Fold
	scale name
	sent  []cartonID
	open  []prep.Mark // in cartons that are still here
	heaps []heapIn
}

// scaledBy gives a scale's set. False: no carton was weighed on it.
func (f *Fold) scaledBy(key string) (scaleSet, bool) {
	s := scaleSet{f: f, scale: f.names.lookup(key)}
	found := false
	for i := range f.boxed {
		if s.scale == 0 || f.boxed[i].Scale != s.scale {
			continue
		}
		found = true
		if f.boxed[i].Sent > 0 {
			s.sent = append(s.sent, cartonID(i))
			continue
		}
		x := f.ofCarton(cartonID(i))
		s.open, s.heaps = append(s.open, x.marks...), append(s.heaps, x.heaps...)
	}
	s.open = prep.NewMarks(s.open...)
	return s, found
}

// siblings counts the set and gives the first page of its marks.
func (s scaleSet) siblings(key string) Siblings {
	f, out := s.f, Siblings{Axis: ByScale, Key: key}
	for _, id := range s.sent {
		b := &f.boxed[id]
		out.Dispatched += int(b.Sent)
		out.Class += int(b.Class)
	}
	for _, m := range s.open {
		if out.split(f.look(m).Stage, 1) {
			out.HereMarks = append(out.HereMarks, m)
		}
	}
	for _, h := range s.heaps {
		out.Class += h.N
		out.split(h.now, h.N)
	}
	out.N = out.Here + out.Sealed + out.Dispatched + out.Elsewhere
	out.Marks, out.More = s.page(0, PageMarks)
	out.Odds.Complaints = f.complainedOf(s.holds, s.feeds)
	out.Next, out.Steps = out.next(), f.steps(out)
	return out
}

// holds says whether the unit with this mark is in such a carton, or left in one.
func (s scaleSet) holds(m prep.Mark) bool {
	if _, ok := slices.BinarySearch(s.open, m); ok {
		return true
	}
	u := s.f.bound(m)
	return u != nil && u.State == left && u.Carton != 0 && s.f.scaleOf(u.Carton) == s.scale
}

func (s scaleSet) feeds(h heapIn) bool {
	return s.f.scaleOf(s.f.places.row(h.key.at).Carton) == s.scale
}

// page gives at most n marks of the set from a mark on, and the first of those
// after them, or 0. Cartons are opened in the order of their lowest marks, and no
// more of them than the page needs.
func (s scaleSet) page(from prep.Mark, n int) (prep.Marks, prep.Mark) {
	f := s.f
	sent := slices.DeleteFunc(slices.Clone(s.sent), func(id cartonID) bool { return f.boxed[id].High < max(from, 1) })
	slices.SortFunc(sent, func(a, b cartonID) int { return cmp.Compare(f.boxed[a].Low, f.boxed[b].Low) })
	at, _ := slices.BinarySearch(s.open, from)
	out := slices.Clone(s.open[at:])
	for _, id := range sent {
		if len(out) > n {
			if out = prep.NewMarks(out...); len(out) > n && f.boxed[id].Low > out[n] {
				break
			}
		}
		for _, m := range prep.FromRuns(f.cartons.row(id).Kept.Marks) {
			if m >= from {
				out = append(out, m)
			}
		}
	}
	return cut(prep.NewMarks(out...), n)
}

// scaledAlong is scaledBy for the axis of scales, and nothing for the others.
func (f *Fold) scaledAlong(axis Axis, key string) (scaleSet, bool) {
	if axis != ByScale {
		return scaleSet{}, false
	}
	return f.scaledBy(key)
}
