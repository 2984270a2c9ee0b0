package audit

import (
	queue "container/heap"
	"fmt"
	"slices"
	"sort"
	"strings"
	"time"

	"packwright/events"
	"packwright/prep"
)

// windowSet is what one badge made ready at one bench between two moments, both
// included. Which of a batch's units without marks were made in the window, nobody
// can say: they are counted whole, and the set is then told as "at most".
type windowSet struct {
	f        *Fold
	key      shiftKey
	from, to stamp
	shift    *shift
	lo, hi   int           // stints that begin in the window
	cut      []int         // stints that reach beyond it
	made     map[runID]int // units of each run that may be of the window
	again    []prep.Mark   // marks given later, of those
	marks    muster
}

// windowOf gives the set around a moment. Nil: nobody of that badge made anything there.
func (f *Fold) windowOf(k shiftKey, from, to stamp) *windowSet {
	s := f.shifts[k]
	if s == nil || to < from {
		return nil
	}
	w := &windowSet{f: f, key: k, from: from, to: to, shift: s, made: map[runID]int{}}
	w.lo = sort.Search(len(s.Stints), func(i int) bool { return s.Stints[i].From >= from })
	w.hi = sort.Search(len(s.Stints), func(i int) bool { return s.Stints[i].From > to })
	for i := w.lo - 1; i >= 0 && s.Stints[i].Top >= from; i-- {
		if s.Stints[i].Last >= from {
			w.cut = append(w.cut, i)
		}
	}
	w.marks = s.prefix(w.hi)
	w.marks.add(s.prefix(w.lo), -1)
	for i := w.hi - 1; i >= w.lo && s.Stints[i].Top > to; i-- {
		if s.Stints[i].Last > to {
			w.cut = append(w.cut, i)
			w.marks.add(s.one(i), -1)
		}
	}
	for i := w.lo; i < w.hi; i++ {
		w.made[s.Stints[i].Run] += int(s.Stints[i].N)
	}
	w.cutUnits()
	w.givenLater()
	return w
}

// cutUnits counts the units of the batches that the window cuts one by one.
func (w *windowSet) cutUnits() {
	f := w.f
	for _, i := range w.cut {
		t := &w.shift.Stints[i]
		n := int(t.N)
		f.runs.row(t.Run).marksOf(int(t.First), int(t.N), func(m prep.Mark) {
			u := f.look(m)
			switch {
			case !w.covers(u.PreppedAt):
				n--
			case f.counted(m, u):
				w.marks.add(f.musterOf(m, u), 1)
			}
		})
		if i >= w.lo {
			n -= int(t.N) // counted whole before
		}
		w.made[t.Run] += n
	}
}

func (w *windowSet) covers(at stamp) bool { return at >= w.from && at <= w.to }

// givenLater counts the units whose marks were given later, each once, and those of
// which nobody knows the how-manieth of their run they are.
func (w *windowSet) givenLater() {
	f := w.f
	for id := range w.made {
		if f.kinOf(id).Again > 0 {
			w.again = append(w.again, f.runs.row(id).Again...)
		}
	}
	w.again = slices.DeleteFunc(prep.NewMarks(w.again...), func(m prep.Mark) bool { return !w.holdsLater(m) })
	for _, m := range w.again {
		w.marks.add(f.musterOf(m, f.look(m)), 1)
	}
}

func (w *windowSet) holdsLater(m prep.Mark) bool {
	u := w.f.look(m)
	return w.f.counted(m, u) && slices.ContainsFunc(w.f.originsOf(m, u), func(o origin) bool {
		_, touched := w.made[o.Run]
		return touched && (o.Ordinal == 0 || w.hasOrdinal(o))
	})
}

// hasOrdinal says whether a unit that has lost its first mark was made in the window.
func (w *windowSet) hasOrdinal(o origin) bool {
	b := w.f.runs.row(o.Run).by(int(o.Ordinal))
	return shiftKey{b.Fact.Station, b.Fact.Badge} == w.key && b.From <= w.to && b.Last >= w.from && w.f.madeWithin(o.Run, int(o.Ordinal), w.from, w.to)
}

// holds says whether the unit under a mark is of the window, or may be.
func (w *windowSet) holds(m prep.Mark) bool {
	if _, ok := slices.BinarySearch(w.again, m); ok {
		return true
	}
	u := w.f.look(m)
	_, touched := w.made[u.Run]
	return touched && u.Ordinal > 0 && len(w.f.origins[m]) == 0 && w.f.counted(m, u) && w.hasOrdinal(origin{Run: u.Run, Ordinal: u.Ordinal})
}

func (w *windowSet) feeds(h heapIn) bool {
	return slices.ContainsFunc(h.Runs, func(r runID) bool { _, ok := w.made[r]; return ok })
}

// siblings counts the set and gives the first page of its marks.
func (w *windowSet) siblings() Siblings {
	f := w.f
	out := Siblings{Axis: ByBench, Key: f.names.text(w.key.Station) + " " + f.names.text(w.key.Badge), PagesBy: w.name()}
	class := whereabouts{}
	claims, poured := map[string]bool{}, map[*several]bool{}
	for id, made := range w.made {
		k := f.kinOf(id)
		class.add(k.Class, 1)
		out.AtMost = out.AtMost || k.Class != (whereabouts{}) && made < int(k.Made)
		for _, s := range f.pouredWith[id] {
			poured[s] = true
		}
		for _, c := range f.askedOf[id] {
			claims[c] = true
		}
	}
	for s := range poured {
		class.add(s.At, 1)
		out.AtMost = true
	}
	out.fill(w.marks, class)
	out.Odds.Complaints += f.surelyOf(claims, w.holds, w.feeds)
	out.Marks, out.More = w.page(0, PageMarks)
	if w.marks[isHere] > 0 {
		out.HereMarks = f.hereMarks(w.holds)
	}
	out.Next, out.Steps = out.next(), f.steps(out)
	return out
}

// page gives at most n marks of the window from a mark on, and the first of those
// after them, or 0. Batches are opened in the order of their lowest marks, and no
// more of them than the page needs.
func (w *windowSet) page(from prep.Mark, n int) (prep.Marks, prep.Mark) {
	at, _ := slices.BinarySearch(w.again, from)
	out := slices.Clone(w.again[at:])
	next := &lowestFirst{list: w.shift.Stints}
	for i := range w.shift.Stints[w.lo:w.hi] {
		next.want(w.lo+i, from)
	}
	for _, i := range w.cut {
		if i < w.lo {
			next.want(i, from)
		}
	}
	queue.Init(next) // a page opens a few of what may be thousands
	for next.Len() > 0 {
		t := &w.shift.Stints[queue.Pop(next).(int)]
		if len(out) > n {
			if out = prep.NewMarks(out...); len(out) > n && t.Low > out[n] {
				break
			}
		}
		w.f.runs.row(t.Run).marksOf(int(t.First), int(t.N), func(m prep.Mark) {
			if u := w.f.look(m); m >= from && w.f.counted(m, u) && w.covers(u.PreppedAt) {
				out = append(out, m)
			}
		})
	}
	return cut(prep.NewMarks(out...), n)
}

// lowestFirst is batches as a heap, that of the lowest mark on top.
type lowestFirst struct {
	list []stint
	at   []int
}

// want takes a batch in that has marks from one on.
func (h *lowestFirst) want(i int, from prep.Mark) {
	if h.list[i].High > 0 && h.list[i].High >= from {
		h.at = append(h.at, i)
	}
}

func (h *lowestFirst) Len() int           { return len(h.at) }
func (h *lowestFirst) Less(i, j int) bool { return h.list[h.at[i]].Low < h.list[h.at[j]].Low }
func (h *lowestFirst) Swap(i, j int)      { h.at[i], h.at[j] = h.at[j], h.at[i] }
func (h *lowestFirst) Push(x any)         { h.at = append(h.at, x.(int)) }

func (h *lowestFirst) Pop() any {
	last := len(h.at) - 1
	i := h.at[last]
	h.at = h.at[:last]
	return i
}

// name is the window in a word for each of its parts: "ST-2 ife FROM..TO".
func (w *windowSet) name() string {
	return fmt.Sprintf("%s %s %s..%s", w.f.names.text(w.key.Station), w.f.names.text(w.key.Badge), w.from.time(), w.to.time())
}

// windowNamed is the inverse of name. Nil: there is no such window.
func (f *Fold) windowNamed(key string) *windowSet {
	list := strings.Fields(key)
	if len(list) != 3 {
		return nil
	}
	a, b, _ := strings.Cut(list[2], "..")
	from, err := events.ParseTime(a)
	to, err2 := events.ParseTime(b)
	if err != nil || err2 != nil {
		return nil
	}
	return f.windowOf(shiftKey{f.names.lookup(list[0]), f.names.lookup(list[1])}, stampOf(from), stampOf(to))
}

// around gives the set of a moment and so long before and after it.
func (f *Fold) around(k shiftKey, at stamp, window time.Duration) *windowSet {
	d := stamp(window.Milliseconds() << 11)
	return f.windowOf(k, at-d, at+d)
}
