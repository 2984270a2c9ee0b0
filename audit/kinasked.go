package audit

import (
	"slices"

	"packwright/prep"
)

// What was complained of. A claim about a mark counts with the unit, wherever the
// unit is counted (muster). One that names only a carton counts with what all units
// share that it can mean: that changes with what lies in the carton, so such claims
// are looked at again after each event that touches theirs.

// asked is what a claim about a carton's unmarked units counts with.
type asked struct {
	n    int32
	sure []setKey
	sole []setKey // revisions that alone can be meant; see [Fold.othersOf]
	runs []runID  // that fed the first of what it can mean
}

// complained keeps that one claim more names a mark, or one less with n below zero.
func (f *Fold) complained(m prep.Mark, n int32) {
	before := f.bad[m] > 0
	if f.bad[m] += n; f.bad[m] == 0 {
		delete(f.bad, m)
	}
	u := f.look(m)
	if before == (f.bad[m] > 0) || !f.counted(m, u) {
		return
	}
	f.moveMark(m, u, muster{isComplained: 1}, n)
	if s := f.sets[setKey{kind: ofScale, of: int32(f.scaleOf(u.Carton))}]; s != nil && u.State == left && u.Stage == dispatched {
		s.Marks[isComplained] += n
	}
}

// speaks says whether a claim is about single units: a wrong number says nothing of
// a unit, and what repeats an earlier claim does not count again.
func (c *claim) speaks() bool { return c.DupOf == "" && c.Kind != "short" && c.Kind != "over" }

// claimCounts keeps what a claim names, when it is opened.
func (f *Fold) claimCounts(key string, c *claim) {
	switch {
	case !c.speaks():
	case c.Given.Mark > 0:
		f.complained(c.Given.Mark, 1)
	case c.Given.Carton != "":
		f.askedAt[c.Given.Carton] = append(f.askedAt[c.Given.Carton], key)
		f.askAgain(c.Given.Carton)
	}
}

// claimEnds is for a claim that turns out to repeat another. Tell it before.
func (f *Fold) claimEnds(c *claim) {
	if !c.speaks() {
		return
	}
	if c.Given.Mark > 0 {
		f.complained(c.Given.Mark, -1)
		return
	}
	f.askAgain(c.Given.Carton)
}

// stirred is told of a place in which something changed.
func (f *Fold) stirred(at placeID) {
	if len(f.askedAt) > 0 {
		f.askAgain(f.places.Keys[at])
	}
}

// askAgain counts the claims about a carton out, to be counted in again after
// this event.
func (f *Fold) askAgain(carton string) {
	for _, key := range f.askedAt[carton] {
		if !slices.Contains(f.stale, key) {
			f.stale = append(f.stale, key)
			f.countAsked(key, -1)
			delete(f.asked, key)
		}
	}
}

func (f *Fold) askAnew() {
	for carton := range f.askedAt {
		f.askAgain(carton)
	}
}

// settleAsked counts the claims anew that were touched.
func (f *Fold) settleAsked() {
	for _, key := range f.stale {
		if a := f.meant(f.claims[key]); a != nil {
			f.asked[key] = a
			f.countAsked(key, 1)
		}
	}
	f.stale = f.stale[:0]
}

// countAsked counts a claim in, or out with n below zero.
func (f *Fold) countAsked(key string, n int32) {
	a := f.asked[key]
	if a == nil {
		return
	}
	for _, k := range a.sure {
		if s := f.setOfKey(k); s != nil {
			s.sure += n * a.n
		}
	}
	for _, k := range a.sole {
		f.setOfKey(k).sole += n * a.n
	}
	for _, r := range a.runs {
		if n > 0 {
			f.askedOf[r] = append(f.askedOf[r], key)
		} else {
			f.askedOf[r] = slices.DeleteFunc(f.askedOf[r], func(o string) bool { return o == key })
		}
	}
}

// meant gives what a claim that names a carton counts with; nil: with nothing.
func (f *Fold) meant(c *claim) *asked {
	id, ok := f.cartons.find(c.Given.Carton)
	if !ok || !c.speaks() {
		return nil
	}
	a, first := &asked{}, true
	note := func(runs []runID, keys []setKey, n int) {
		keys = distinct(keys)
		if a.n += int32(n); first {
			a.runs, a.sure, first = runs, slices.Clone(keys), false
		} else {
			a.sure = slices.DeleteFunc(a.sure, func(k setKey) bool { return !slices.Contains(keys, k) })
		}
		for _, k := range keys {
			if k.kind == ofRules && !f.alsoOther(keys, k) {
				a.sole = append(a.sole, k)
			}
		}
	}
	f.eachMeant(c, id, func(h heapIn) {
		var keys []setKey
		for _, r := range h.Runs {
			keys = f.keysOf(keys, f.runs.row(r), 0)
		}
		note(h.Runs, keys, h.N)
	}, func(m prep.Mark) {
		u := f.look(m)
		var keys []setKey
		if f.counted(m, u) {
			keys = f.keyPrinted(f.keysOfMark(nil, m, u), m)
		}
		note(f.runsOf(m, u), keys, 1)
	})
	if a.n == 0 {
		return nil
	}
	if scale := f.scaleOf(id); scale != 0 {
		a.sure = append(a.sure, setKey{kind: ofScale, of: int32(scale)})
	}
	a.sole = slices.DeleteFunc(distinct(a.sole), func(k setKey) bool { return !slices.Contains(a.sure, setKey{ofRecipe, k.of, 0}) })
	a.n = min(int32(max(c.Qty, 1)), a.n)
	return a
}

// eachMeant gives the units that a claim about a carton can mean: heaps, and marks.
func (f *Fold) eachMeant(c *claim, id cartonID, heap func(heapIn), mark func(prep.Mark)) {
	wanted := func(lot lotID) bool {
		return c.Given.Item == "" || f.names.text(f.lots.row(lot).Item) == c.Given.Item
	}
	box := f.cartons.row(id)
	f.heapsAt(box.Place, func(h heapIn) {
		if wanted(h.Lot) {
			heap(h)
		}
	})
	list := f.places.row(box.Place).Marks
	if box.Kept != nil {
		list = prep.FromRuns(box.Kept.Marks)
	}
	for _, m := range list {
		if wanted(f.look(m).Lot) {
			mark(m)
		}
	}
}

// surelyOf counts what these claims about cartons complain of, when all units that
// each can mean are of a set.
func (f *Fold) surelyOf(claims map[string]bool, has func(prep.Mark) bool, feeds func(heapIn) bool) (n int) {
	for key := range claims {
		n += f.surely(f.claims[key], has, feeds)
	}
	return n
}

// surely gives how many units a claim without a mark complains of, if all units
// that it can mean are of a set; otherwise 0. A claim that names no carton can
// mean too much.
func (f *Fold) surely(c *claim, has func(prep.Mark) bool, feeds func(heapIn) bool) int {
	id, ok := f.cartons.find(c.Given.Carton)
	if !ok {
		return 0
	}
	can, all := 0, true
	f.eachMeant(c, id, func(h heapIn) { can, all = can+h.N, all && feeds(h) }, func(m prep.Mark) { can, all = can+1, all && has(m) })
	if !all {
		return 0
	}
	return min(max(c.Qty, 1), can)
}

// loadAsked counts all claims anew.
func (f *Fold) loadAsked() {
	for _, c := range f.claims {
		if c.speaks() && c.Given.Mark > 0 {
			f.bad[c.Given.Mark]++
		}
	}
	for key, c := range f.claims {
		if c.speaks() && c.Given.Mark == 0 {
			f.claimCounts(key, c)
		}
	}
	f.settleAsked()
}
