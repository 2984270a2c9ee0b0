package audit

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"packwright/prep"
)

// shared is what all units come to that share one thing: a revision of a recipe, a
// lot of material, a label template, a scale. It is kept up as units move, so that
// a set is counted by reading its row, however many runs it is of. Beside the
// marks' stretches it is some 120 bytes.
type shared struct {
	Marks  muster
	Class  whereabouts // without marks
	Poured int32       // of Class: in heaps that several runs fed, counted whole
	// Twice is what also counts with another revision of the same recipe, Sole the
	// complaints that the other revisions have no part in; see [Fold.othersOf].
	Twice muster
	Spans spans // the marks, cancelled ones among them

	sure int32 // complaints of units without marks that are surely of it
	sole int32
}

// setKey names what units share.
type setKey struct {
	kind setKind
	of   int32 // a name, or a lot
	rev  int32
}

type setKind uint8

const (
	ofRules setKind = iota
	ofRecipe
	ofLot
	ofMaterial
	ofTemplate
	ofWarmAir
	ofScale
)

func (k setKey) compare(o setKey) int {
	return cmp.Or(cmp.Compare(k.kind, o.kind), cmp.Compare(k.of, o.of), cmp.Compare(k.rev, o.rev))
}

// setOfKey gives what is kept of a thing, made at the first unit. Nil: a lot that one run
// works on has no row of its own; the run's will do.
func (f *Fold) setOfKey(k setKey) *shared {
	s := f.sets[k]
	if s == nil && k.kind != ofLot {
		s = &shared{}
		f.sets[k] = s
	}
	return s
}

// keysOf appends what the unit of an ordinal shares by its run; ordinal 0, not
// known, and units without marks share all that the run's units may.
func (f *Fold) keysOf(list []setKey, r *run, ordinal int) []setKey {
	list = append(list, setKey{ofRules, int32(r.Recipe), int32(r.Rev)}, setKey{ofRecipe, int32(r.Recipe), 0}, setKey{ofLot, int32(r.Lot), 0})
	for _, l := range r.Also {
		list = append(list, setKey{ofLot, int32(l), 0})
	}
	if r.Warm {
		list = append(list, setKey{kind: ofWarmAir})
	}
	for _, l := range r.Labels {
		for _, rev := range l.Revs {
			list = append(list, setKey{ofTemplate, int32(l.Kind), int32(rev)})
		}
	}
	for _, u := range r.Materials {
		if k := (setKey{ofMaterial, int32(u.MatLot), 0}); u.has(ordinal) && !slices.Contains(list, k) {
			list = append(list, k)
		}
	}
	return list
}

// alike says whether all units of a run share the same, whatever their ordinal.
func (r *run) alike() bool {
	return !slices.ContainsFunc(r.Materials, func(u use) bool { return u.From > 1 || u.To != 0 })
}

// keysOfMark appends what a unit shares by any of the runs that may have made it.
func (f *Fold) keysOfMark(list []setKey, m prep.Mark, u *unit) []setKey {
	for _, o := range f.originsOf(m, u) {
		if o.Run != 0 {
			list = f.keysOf(list, f.runs.row(o.Run), int(o.Ordinal))
		}
	}
	return distinct(list)
}

func distinct(list []setKey) []setKey {
	slices.SortFunc(list, setKey.compare)
	return slices.Compact(list)
}

// keyNamed gives what an axis and the name of a thing on it stand for. False: there
// is no such thing, or it is not counted by a row of its own.
func (f *Fold) keyNamed(axis Axis, key string) (k setKey, ok bool) {
	name, rest, _ := strings.Cut(key, " ")
	switch axis {
	case ByRules:
		rev, err := strconv.Atoi(strings.TrimPrefix(name, "r"))
		k, ok = setKey{ofRules, int32(f.names.lookup(rest)), int32(rev)}, err == nil
	case ByLot:
		id, found := f.lots.find(key)
		k, ok = setKey{kind: ofLot, of: int32(id)}, found
	case ByMaterial:
		k, ok = setKey{kind: ofMaterial, of: int32(f.names.lookup(key))}, true
	case ByTemplate:
		rev, err := strconv.Atoi(rest)
		k, ok = setKey{ofTemplate, int32(f.names.lookup(name)), int32(rev)}, err == nil
	case ByWarmAir:
		k, ok = setKey{kind: ofWarmAir}, key == warmAirKey
	case ByScale:
		k, ok = setKey{kind: ofScale, of: int32(f.names.lookup(key))}, true
	}
	return k, ok && f.sets[k] != nil
}
