package audit

import (
	"cmp"
	"maps"
	"slices"
)

// saveKin writes what sets of siblings are counted from.
func (f *Fold) saveKin(s *saver) {
	for id := 1; id < f.runs.size(); id++ {
		s.row(pack(nil, f.kinOf(runID(id))), false)
	}
	for _, k := range slices.SortedFunc(maps.Keys(f.sets), setKey.compare) {
		s.row(pack(nil, &setRow{uint8(k.kind), k.of, k.rev, *f.sets[k]}), false)
	}
	for _, k := range slices.SortedFunc(maps.Keys(f.shifts), shiftKey.compare) {
		s.row(pack(nil, &shiftRow{k, *f.shifts[k]}), false)
	}
	for _, k := range slices.Sorted(maps.Keys(f.several)) {
		s.row(pack(nil, f.several[k]), false)
	}
	s.row(pack(nil, &f.left), false)
	s.row(pack(nil, &f.weighed), false)
	s.row(pack(nil, &f.boxed), false)
	s.row(pack(nil, &f.reopened), false)
	s.row(pack(nil, &f.byPlacer), false)
	s.turn()
}

// setRow and shiftRow are rows with what they are found by.
type setRow struct {
	Kind    uint8
	Of, Rev int32
	Set     shared
}

type shiftRow struct {
	Key   shiftKey
	Shift shift
}

func (k shiftKey) compare(o shiftKey) int {
	return cmp.Or(cmp.Compare(k.Station, o.Station), cmp.Compare(k.Badge, o.Badge))
}

// loadKin reads what saveKin wrote: n sets, shifts and heaps of several runs.
func (f *Fold) loadKin(l *loader, n [3]int) {
	for id := 1; id < f.runs.size() && l.err == nil; id++ {
		loadRow(l, f.kinOf(runID(id)))
	}
	for i := 0; i < n[0] && l.err == nil; i++ {
		r := &setRow{}
		loadRow(l, r)
		f.sets[setKey{setKind(r.Kind), r.Of, r.Rev}] = &r.Set
	}
	for i := 0; i < n[1] && l.err == nil; i++ {
		r := &shiftRow{}
		loadRow(l, r)
		f.shifts[r.Key] = &r.Shift
	}
	for i := 0; i < n[2] && l.err == nil; i++ {
		s := &several{}
		if loadRow(l, s); l.err == nil {
			f.enterSeveral(runsKey(s.Runs), s)
		}
	}
	loadRow(l, &f.left)
	loadRow(l, &f.weighed)
	loadRow(l, &f.boxed)
	loadRow(l, &f.reopened)
	loadRow(l, &f.byPlacer)
	if l.err == nil {
		f.loadOpen()
	}
}

func loadRow[T any](l *loader, into *T) {
	b, _ := l.row()
	l.check(unpack([]byte(b), into))
}

// loadOpen finds the cartons that were weighed and are still here.
func (f *Fold) loadOpen() {
	for id, c := range f.cartons.awake() {
		if c.Kept == nil && c.State != Void {
			f.countBox(id, nil, 1)
		}
	}
}
