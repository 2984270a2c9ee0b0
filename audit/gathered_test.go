package audit

import (
	"cmp"
	"maps"
	"slices"

	"packwright/events"
	"packwright/prep"
)

// What follows counts sets of siblings slowly and plainly, from the rows of every
// run, unit, heap, carton and claim: the tests hold the kept sums against it.

// gathering is the units of a set while it is gathered. A unit comes once, by
// whatever way it was found: marks that may be of several runs, and heaps that
// several runs fed, can be met twice.
type gathering struct {
	marks  map[prep.Mark]bool
	heaps  []heapIn
	met    map[heapKey]bool
	atMost bool
}

func newGathering() *gathering {
	return &gathering{marks: map[prep.Mark]bool{}, met: map[heapKey]bool{}}
}

func (x *gathering) addHeap(h heapIn) {
	x.atMost = x.atMost || len(h.Runs) > 1
	if !x.met[h.key] {
		x.met[h.key] = true
		x.heaps = append(x.heaps, h)
	}
}

// addRun adds the units whose goods a run made and whose ordinals pass. A cancelled
// mark is no unit; the mark that took its goods is. Units without marks have no
// ordinals: they are added, all of them, when ordinal 0 passes.
func (f *Fold) addRun(x *gathering, id runID, pass func(ordinal int) bool) {
	r := f.runs.row(id)
	for _, s := range r.Marks {
		for m := s.From; m <= s.To; m++ {
			if pass(s.At+int(m-s.From)) && f.look(m).State != voided {
				x.marks[m] = true
			}
		}
	}
	for _, m := range r.Again {
		u := f.look(m)
		for _, o := range f.originsOf(m, u) {
			if u.State != voided && o.Run == id && pass(int(o.Ordinal)) {
				x.marks[m] = true
			}
		}
	}
	if !pass(0) {
		return
	}
	before := len(x.heaps)
	f.addHeaps(x, id)
	for k := 1; k <= r.Made && len(x.heaps) > before; k++ {
		if !pass(k) {
			x.atMost = true // which of them it was, nobody can say
			return
		}
	}
}

// addHeaps adds the anonymous units that may be a run's, wherever they are.
func (f *Fold) addHeaps(x *gathering, id runID) {
	for l := range f.lots.all() {
		for _, at := range f.lots.row(l).Places {
			f.heapsAt(at, func(h heapIn) {
				if h.Lot == l && slices.Contains(h.Runs, id) {
					x.addHeap(h)
				}
			})
		}
		gone := f.lots.row(l).Gone
		for i := range gone {
			if h := &gone[i]; h.Stage != dispatched && !h.Marked && slices.Contains(h.Runs, id) {
				x.addHeap(heapIn{h, h.Stage, heapKey{gone: l, no: i}})
			}
		}
	}
}

// tell counts what was gathered.
func (f *Fold) tell(axis Axis, key string, x *gathering) Siblings {
	s := Siblings{Axis: axis, Key: key, AtMost: x.atMost, Marks: prep.NewMarks(slices.Collect(maps.Keys(x.marks))...)}
	for _, m := range s.Marks {
		if s.split(f.look(m).Stage, 1) {
			s.HereMarks = append(s.HereMarks, m)
		}
	}
	for _, h := range x.heaps {
		s.Class += h.N
		s.split(h.now, h.N)
	}
	s.N = len(s.Marks) + s.Class
	s.Odds.Complaints = f.complainedOf(func(m prep.Mark) bool { return x.marks[m] }, func(h heapIn) bool {
		return slices.ContainsFunc(x.heaps, func(o heapIn) bool { return o.key == h.key })
	})
	return s
}

// complainedOf counts the units complained of that are surely of a set: by their
// mark, or, for units without one, when all that the claim can mean are of the
// set. Claims of a wrong number say nothing of a unit and do not count.
func (f *Fold) complainedOf(has func(prep.Mark) bool, feeds func(heapIn) bool) int {
	n := 0
	seen := map[prep.Mark]bool{}
	for _, c := range f.claims {
		switch m := c.Given.Mark; {
		case c.DupOf != "": // the earlier claim counts
		case c.Kind == "short" || c.Kind == "over":
		case m > 0:
			if has(m) && !seen[m] {
				seen[m] = true
				n++
			}
		default:
			n += f.surely(c, has, feeds)
		}
	}
	return n
}

func everyUnit(int) bool { return true }

// gatherRuns gathers all units of the runs that pass.
func (f *Fold) gatherRuns(pass func(id runID, r *run) bool) *gathering {
	x := newGathering()
	for id, r := range f.runs.all() {
		if pass(id, r) {
			f.addRun(x, id, everyUnit)
		}
	}
	return x
}

// NamedSet is an axis and a thing on it.
type NamedSet struct {
	Axis Axis
	Key  string
}

// NamedSets lists all sets that a fold can be asked for by name, but windows.
func (f *Fold) NamedSets() (out []NamedSet) {
	add := func(axis Axis, key string) {
		if n := (NamedSet{axis, key}); !slices.Contains(out, n) {
			out = append(out, n)
		}
	}
	for id, r := range f.runs.all() {
		add(ByRun, f.runs.Keys[id])
		add(ByRules, f.rulesKey(r))
		for _, l := range r.Labels {
			for _, rev := range l.Revs {
				add(ByTemplate, templateKey(f.names.text(l.Kind), rev))
			}
		}
		if r.Warm {
			add(ByWarmAir, warmAirKey)
		}
	}
	for _, p := range f.printed {
		if p.Rev != 0 {
			add(ByTemplate, templateKey(f.names.text(p.Kind), int(p.Rev)))
		}
	}
	for id, l := range f.lots.all() {
		if len(l.Runs) > 0 {
			add(ByLot, f.lots.Keys[id])
		}
	}
	for key, m := range f.matlots {
		if len(m.Runs) > 0 {
			add(ByMaterial, key)
		}
	}
	for id, c := range f.cartons.all() {
		add(ByCarton, f.cartons.Keys[id])
		if n := len(c.Weighs); n > 0 {
			add(ByScale, f.names.text(c.Weighs[n-1].Scale))
		}
	}
	slices.SortFunc(out, func(a, b NamedSet) int { return cmp.Or(cmp.Compare(a.Axis, b.Axis), cmp.Compare(a.Key, b.Key)) })
	return out
}

// Gather counts a named set plainly.
func (f *Fold) Gather(n NamedSet) Siblings {
	var x *gathering
	switch n.Axis {
	case ByRun:
		x = f.gatherRuns(func(id runID, _ *run) bool { return f.runs.Keys[id] == n.Key })
	case ByRules:
		x = f.gatherRuns(func(_ runID, r *run) bool { return f.rulesKey(r) == n.Key })
	case ByWarmAir:
		x = f.gatherRuns(func(_ runID, r *run) bool { return r.Warm })
	case ByLot:
		x = f.gatherRuns(func(id runID, _ *run) bool { return slices.Contains(f.lots.get(n.Key).Runs, id) })
	case ByTemplate:
		x = f.gatherRuns(func(_ runID, r *run) bool {
			return slices.ContainsFunc(r.Labels, func(l labels) bool {
				return slices.ContainsFunc(l.Revs, func(rev int) bool { return templateKey(f.names.text(l.Kind), rev) == n.Key })
			})
		})
		for _, p := range f.printed {
			for m := p.From; m <= p.To; m++ {
				if u := f.bound(m); p.Rev != 0 && templateKey(f.names.text(p.Kind), int(p.Rev)) == n.Key && u != nil && f.counted(m, u) {
					x.marks[m] = true
				}
			}
		}
		for _, r := range f.runs.all() { // a run that printed by two
			for _, l := range r.Labels {
				x.atMost = x.atMost || len(l.Revs) > 1 && slices.ContainsFunc(l.Revs, func(rev int) bool { return templateKey(f.names.text(l.Kind), rev) == n.Key })
			}
		}
	case ByMaterial:
		x = f.gatherMaterial(n.Key)
	case ByCarton, ByScale:
		x = newGathering()
		for id, c := range f.cartons.all() {
			w := len(c.Weighs)
			if n.Axis == ByCarton && f.cartons.Keys[id] == n.Key || n.Axis == ByScale && w > 0 && f.names.text(c.Weighs[w-1].Scale) == n.Key {
				of := f.ofCarton(id)
				for _, m := range of.marks {
					x.marks[m] = true
				}
				x.heaps = append(x.heaps, of.heaps...)
			}
		}
	}
	return f.tell(n.Axis, n.Key, x)
}

// gatherMaterial gathers the units that got material from one lot.
func (f *Fold) gatherMaterial(key string) *gathering {
	x, id := newGathering(), f.names.lookup(key)
	for _, r := range f.matlots[key].Runs {
		f.addRun(x, r, func(ordinal int) bool {
			return slices.ContainsFunc(f.runs.row(r).Materials, func(u use) bool { return u.MatLot == id && u.has(ordinal) })
		})
	}
	return x
}

// GatherWindow counts what one badge made at one bench around a moment.
func (f *Fold) GatherWindow(station, badge string, from, to events.Time) Siblings {
	x, a, b := newGathering(), stampOf(from), stampOf(to)
	for id, r := range f.runs.all() {
		var mine []batch
		for _, k := range r.Batches {
			if f.names.text(k.Fact.Station) == station && f.names.text(k.Fact.Badge) == badge && k.Last >= a && k.From <= b {
				mine = append(mine, k)
			}
		}
		if len(mine) > 0 {
			f.addRun(x, id, func(ordinal int) bool {
				return ordinal == 0 || slices.ContainsFunc(mine, func(b batch) bool { return b.First <= ordinal && ordinal < b.First+b.N }) &&
					f.madeWithin(id, ordinal, a, b)
			})
		}
	}
	return f.tell(ByBench, station+" "+badge, x)
}

// Window gives the kept count of the same, false when nobody of the badge made
// anything there.
func (f *Fold) Window(station, badge string, from, to events.Time) (Siblings, string, bool) {
	w := f.windowOf(shiftKey{f.names.lookup(station), f.names.lookup(badge)}, stampOf(from), stampOf(to))
	if w == nil {
		return Siblings{}, "", false
	}
	return w.siblings(), w.name(), true
}

// Shift names a badge at a bench, and the moments at which its batches begin and end.
type Shift struct {
	Station, Badge string
	Ends           []events.Time
}

// Shifts lists who made something where.
func (f *Fold) Shifts() (out []Shift) {
	for _, r := range f.runs.all() {
		for _, b := range r.Batches {
			s := Shift{f.names.text(b.Fact.Station), f.names.text(b.Fact.Badge), nil}
			i := slices.IndexFunc(out, func(o Shift) bool { return o.Station == s.Station && o.Badge == s.Badge })
			if i < 0 {
				out, i = append(out, s), len(out)
			}
			out[i].Ends = append(out[i].Ends, b.From.time(), b.Last.time())
		}
	}
	return out
}

// Others counts, for a revision of a recipe, the
// complaints under all others of the same recipe, kept and plainly.
func (f *Fold) Others(key string) (kept, plain Tally) {
	k, ok := f.keyNamed(ByRules, key)
	if !ok {
		return Tally{-1, -1}, plain
	}
	s := f.tell(ByRules, key, f.gatherRuns(func(_ runID, r *run) bool { return int32(r.Recipe) == k.of && int32(r.Rev) != k.rev }))
	return f.othersOf(k), Tally{min(s.Odds.Complaints, s.N), s.N}
}

// PlainOddities reads every carton for what [Fold.Irregular] says of them.
func (f *Fold) PlainOddities() (v Irregular) {
	for id, c := range f.cartons.all() {
		for _, s := range c.Seals {
			if s.Broken.Ref != 0 {
				v.Opened = append(v.Opened, SealView{f.cartons.Keys[id], s.Number, f.names.text(s.Broken.Badge), s.Why, s.Broken.At.time(), s.Broken.Ref.seq()})
			}
		}
		if k := c.live(); k != nil && k.ByPlacer {
			v.Placers = append(v.Placers, f.cartons.Keys[id])
		}
	}
	return v
}
