package audit

import (
	"slices"

	"packwright/prep"
)

// While an event is applied, what it moves is noted here, where a step out of one
// place and into the next cancel out; after it the rest goes to the rows of all that
// the units share. A piece placed in a carton is still here and so touches none of
// them; sealing, sending and taking back do.

// movedMark is what became of one marked unit.
type movedMark struct {
	mark  prep.Mark
	run   runID
	fresh bool // it is new among its siblings
	by    muster
}

// heaped is what became of units without marks, of one run or of several.
type heaped struct {
	run  runID
	runs *several
	by   whereabouts
}

// settleKin passes on what the event moved.
func (f *Fold) settleKin() {
	for i := 0; i < len(f.moved); {
		k := i + 1
		for k < len(f.moved) && f.moved[k].run == f.moved[i].run {
			k++
		}
		f.settleMarks(f.moved[i].run, f.moved[i:k])
		i = k
	}
	f.moved = f.moved[:0]
	for i := range f.heaped {
		switch h := &f.heaped[i]; {
		case h.by == (whereabouts{}):
		case h.runs != nil:
			f.addPoured(h.runs, h.by, 1)
		default:
			f.addClass(h.run, h.by, 1)
		}
		if s := f.heaped[i].runs; s != nil {
			f.dropSeveral(s)
		}
	}
	f.heaped = f.heaped[:0]
}

// settleMarks passes on what became of marks of one run; of none: of those that
// more than one run may have made.
func (f *Fold) settleMarks(id runID, list []movedMark) {
	if !slices.ContainsFunc(list, func(m movedMark) bool { return m.fresh || m.by != (muster{}) }) {
		return
	}
	r := f.runs.row(id)
	t := &together{f: f, run: id, r: r, alike: id != 0 && r.alike()}
	for _, m := range list {
		f.templateMoved(m)
		switch {
		case !m.fresh && m.by == (muster{}):
		case id == 0 || len(f.origins[m.mark]) > 0:
			f.addLoose(m.mark, m.by, 1, m.fresh)
		default:
			t.add(m)
		}
	}
	t.done()
}

// together gathers marks of one run that share all they share.
type together struct {
	f     *Fold
	run   runID
	r     *run
	alike bool
	by    muster
	span  prep.MarkRun // that are new
	shift shiftPart
}

func (t *together) add(m movedMark) {
	ordinal := int(t.f.look(m.mark).Ordinal)
	t.f.shiftMark(&t.shift, t.run, t.r, ordinal, m)
	if !t.alike {
		t.pass(t.f.keysOf(nil, t.r, ordinal), m.by, prep.MarkRun{From: m.mark, To: m.mark}, m.fresh)
		return
	}
	t.by.add(m.by, 1)
	switch {
	case !m.fresh:
	case t.span.From > 0 && m.mark == t.span.To+1:
		t.span.To = m.mark
	default:
		t.flush()
		t.span = prep.MarkRun{From: m.mark, To: m.mark}
	}
}

func (t *together) flush() {
	if t.by != (muster{}) || t.span.From > 0 {
		t.pass(t.f.keysOf(nil, t.r, 0), t.by, t.span, t.span.From > 0)
	}
	t.by, t.span = muster{}, prep.MarkRun{}
}

func (t *together) done() {
	t.flush()
	t.f.shiftDone(&t.shift)
}

func (t *together) pass(keys []setKey, by muster, span prep.MarkRun, fresh bool) {
	for _, k := range keys {
		if s := t.f.setOfKey(k); s != nil {
			if s.Marks.add(by, 1); fresh {
				s.Spans.add(span)
			}
		}
	}
}

// addLoose counts a unit in, n times, with all that it may share: one that got its mark
// later, and one that several runs may have made.
func (f *Fold) addLoose(m prep.Mark, by muster, n int32, fresh bool) {
	keys := f.keysOfMark(nil, m, f.look(m))
	for _, k := range keys {
		if s := f.setOfKey(k); s != nil {
			if s.Marks.add(by, n); fresh {
				s.Spans.add(prep.MarkRun{From: m, To: m})
			}
			if f.alsoOther(keys, k) {
				s.Twice.add(by, n)
			}
		}
	}
}

// alsoOther says whether a key is of a revision and another of the same recipe
// is among them.
func (f *Fold) alsoOther(keys []setKey, k setKey) bool {
	return k.kind == ofRules && slices.ContainsFunc(keys, func(o setKey) bool { return o.kind == ofRules && o.of == k.of && o.rev != k.rev })
}

// addClass counts units without marks in with what their run shares, n times.
func (f *Fold) addClass(id runID, by whereabouts, n int32) {
	for _, k := range f.keysOf(nil, f.runs.row(id), 0) {
		if s := f.setOfKey(k); s != nil {
			s.Class.add(by, n)
		}
	}
}

// addPoured counts units that several runs may have made.
func (f *Fold) addPoured(v *several, by whereabouts, n int32) {
	var keys []setKey
	for _, r := range v.Runs {
		keys = f.keysOf(keys, f.runs.row(r), 0)
	}
	keys = distinct(keys)
	for _, k := range keys {
		s := f.setOfKey(k)
		if s == nil {
			continue
		}
		s.Class.add(by, n)
		s.Poured += n * by.sum()
		if f.alsoOther(keys, k) {
			var all muster
			copy(all[:], by[:])
			s.Twice.add(all, n)
		}
	}
}

// resort changes what the units of a run share: they are counted out of all of it
// before, and in again afterwards.
func (f *Fold) resort(id runID, change func()) {
	f.settleKin()
	f.contribute(id, -1)
	change()
	f.contribute(id, 1)
}

// contribute counts all units of a run in, or out with n below zero. Mostly there
// are none yet: a run draws its material before it makes its first unit.
func (f *Fold) contribute(id runID, n int32) {
	k := *f.kinOf(id)
	if k.Made == 0 && k.Again == 0 && k.Class == (whereabouts{}) {
		return
	}
	f.askAnew()
	r := f.runs.row(id)
	r.eachMark(0, func(m prep.Mark) {
		u := f.look(m)
		if !f.counted(m, u) {
			return
		}
		for _, key := range f.keysOfMark(nil, m, u) {
			if s := f.setOfKey(key); s != nil {
				s.Spans.put(m, n > 0)
			}
		}
		f.addLoose(m, f.musterOf(m, u), n, false)
	})
	f.addClass(id, k.Class, n)
	for _, s := range f.pouredWith[id] {
		f.addPoured(s, s.At, n)
	}
}

// joinLot has a run work on one more lot.
func (f *Fold) joinLot(lot lotID, id runID) {
	l := f.lots.change(lot)
	if slices.Contains(l.Runs, id) {
		return
	}
	key := setKey{kind: ofLot, of: int32(lot)}
	if len(l.Runs) == 1 && f.sets[key] == nil { // from the second run on the lot has a row of its own
		f.resort(l.Runs[0], func() { f.sets[key] = &shared{} })
	}
	f.resort(id, func() {
		l.Runs = append(l.Runs, id)
		if r := f.runs.change(id); r.Lot != lot {
			r.Also = append(r.Also, lot)
		}
	})
}
