package audit

import (
	"cmp"
	"slices"
	"sort"

	"packwright/prep"
)

// shiftKey is one badge at one bench.
type shiftKey struct{ Station, Badge name }

// shift is what one badge made ready at one bench, in the order of time. The units
// of a window of time are the difference of two sums over its stints, which a tree
// of sums gives (P.M. Fenwick, "A new data structure for cumulative frequency tables",
// Software: Practice and Experience 24(3), 1994); only those that the window cuts
// are looked at unit by unit.
type shift struct {
	Stints []stint // rising by From
}

// stint is a batch of a run: 64 bytes.
type stint struct {
	Run        runID
	First, N   int32 // ordinals
	Low, High  prep.Mark
	Tree       muster // the sum over the stints from i-i&-i+1 to i, i counted from 1; of first marks only
	From, Last stamp
	Top        stamp // the latest Last so far
}

// prefix sums the first n stints.
func (s *shift) prefix(n int) (sum muster) {
	for ; n > 0; n -= n & -n {
		sum.add(s.Stints[n-1].Tree, 1)
	}
	return sum
}

// one gives stint i alone.
func (s *shift) one(i int) muster {
	sum := s.prefix(i + 1)
	sum.add(s.prefix(i), -1)
	return sum
}

func (s *shift) count(i int, by muster) {
	for i++; i <= len(s.Stints); i += i & -i {
		s.Stints[i-1].Tree.add(by, 1)
	}
}

// enter puts a stint in where its beginning says: mostly at the end.
func (s *shift) enter(t stint) {
	i := sort.Search(len(s.Stints), func(i int) bool { return s.Stints[i].From > t.From })
	if i < len(s.Stints) {
		s.reorder(func(list []stint) []stint { return slices.Insert(list, i, t) })
		return
	}
	t.Tree, t.Top = muster{}, t.Last
	if i > 0 {
		t.Top = max(t.Top, s.Stints[i-1].Top)
	}
	n := i + 1
	for k := i; k > n-n&-n; k -= k & -k {
		t.Tree.add(s.Stints[k-1].Tree, 1)
	}
	s.Stints = append(s.Stints, t)
}

// reorder is for the few that were told of late: all sums are made anew. While
// change has the list, each stint's Tree is its own sum.
func (s *shift) reorder(change func([]stint) []stint) {
	own := make([]muster, len(s.Stints))
	for i := range own {
		own[i] = s.one(i)
	}
	for i := range own {
		s.Stints[i].Tree = own[i]
	}
	list := change(s.Stints)
	s.Stints = list[:0]
	for _, t := range list {
		by := t.Tree
		s.enter(t)
		s.count(len(s.Stints)-1, by)
	}
}

// find gives the stint of a batch.
func (s *shift) find(id runID, b batch) int {
	i := sort.Search(len(s.Stints), func(i int) bool { return s.Stints[i].From >= b.From })
	for s.Stints[i].Run != id || s.Stints[i].First != int32(b.First) {
		i++
	}
	return i
}

// extend moves a stint's ends apart.
func (s *shift) extend(i int, to batch) {
	t := &s.Stints[i]
	t.N, t.Last = int32(to.N), to.Last
	if to.From < t.From {
		s.reorder(func(list []stint) []stint {
			list[i].From = to.From
			slices.SortStableFunc(list, func(a, b stint) int { return cmp.Compare(a.From, b.From) })
			return list
		})
		return
	}
	for ; i < len(s.Stints) && s.Stints[i].Top < to.Last; i++ {
		s.Stints[i].Top = to.Last
	}
}

// shiftOf gives the shift of a badge at a bench, made when it makes its first unit.
func (f *Fold) shiftOf(k shiftKey) *shift {
	s := f.shifts[k]
	if s == nil {
		s = &shift{}
		f.shifts[k] = s
	}
	return s
}

// makes counts q units as made; units that follow one another at one bench by
// one badge are one batch.
func (f *Fold) makes(id runID, r *run, who fact, q int) {
	s := f.shiftOf(shiftKey{who.Station, who.Badge})
	if n := len(r.Batches); n > 0 && r.Batches[n-1].Fact.Station == who.Station && r.Batches[n-1].Fact.Badge == who.Badge {
		b := &r.Batches[n-1]
		at := s.find(id, *b)
		b.N, b.From, b.Last = b.N+q, min(b.From, who.At), max(b.Last, who.At)
		s.extend(at, *b)
	} else {
		b := batch{Fact: who, From: who.At, Last: who.At, First: r.Made + 1, N: q}
		r.Batches = append(r.Batches, b)
		s.enter(stint{Run: id, First: int32(b.First), N: int32(q), From: b.From, Last: b.Last})
	}
	r.Made += q
	f.kinOf(id).Made = int32(r.Made)
}

// shiftPart gathers what became of the units of one batch.
type shiftPart struct {
	run       runID
	batch     batch
	by        muster
	low, high prep.Mark // that are new
}

// shiftMark counts a unit with its batch.
func (f *Fold) shiftMark(p *shiftPart, id runID, r *run, ordinal int, m movedMark) {
	if ordinal == 0 {
		return
	}
	if p.batch.N == 0 || ordinal < p.batch.First || ordinal >= p.batch.First+p.batch.N {
		f.shiftDone(p)
		*p = shiftPart{run: id, batch: r.by(ordinal)}
	}
	if p.by.add(m.by, 1); m.fresh {
		if p.low == 0 || m.mark < p.low {
			p.low = m.mark
		}
		p.high = max(p.high, m.mark)
	}
}

func (f *Fold) shiftDone(p *shiftPart) {
	if p.batch.N == 0 {
		return
	}
	s := f.shiftOf(shiftKey{p.batch.Fact.Station, p.batch.Fact.Badge})
	i := s.find(p.run, p.batch)
	if p.by != (muster{}) {
		s.count(i, p.by)
	}
	if t := &s.Stints[i]; p.high > 0 {
		if t.Low == 0 || p.low < t.Low {
			t.Low = p.low
		}
		t.High = max(t.High, p.high)
	}
}
