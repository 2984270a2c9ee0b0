package audit

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"packwright/prep"
)

// Axis is a way in which units may share a fate.
type Axis string

// The axes along which siblings are counted.
const (
	ByRun      Axis = "run"
	ByBench    Axis = "bench and badge in that window"
	ByMaterial Axis = "material lot"
	ByRules    Axis = "rules and recipe"
	ByLot      Axis = "source lot"
	ByCarton   Axis = "carton"
	ByTemplate Axis = "label template"
	ByScale    Axis = "scale"
	ByWarmAir  Axis = "warm air in the run"
)

// Siblings is all units that share one thing with the unit asked for, itself
// included, and where they are now. Only units that were made ready, or stand
// in a carton, are exposed; a unit that was diverted before prep is not.
type Siblings struct {
	Axis  Axis       `json:"axis"`
	Key   string     `json:"key"`
	N     int        `json:"n"`
	Marks prep.Marks `json:"marks,omitempty"`     // the first PageMarks of them
	More  prep.Mark  `json:"more_from,omitempty"` // the mark after those; see [Fold.Members]
	// Class counts exposed units without a mark of their own.
	Class      int        `json:"without_mark,omitempty"`
	AtMost     bool       `json:"at_most,omitempty"` // a heap of several runs is counted whole
	Here       int        `json:"here"`              // on the floor, not sealed
	Sealed     int        `json:"sealed"`
	Dispatched int        `json:"dispatched"`
	Elsewhere  int        `json:"elsewhere"` // diverted, written off, used in bundles, not found
	HereMarks  prep.Marks `json:"here_marks,omitempty"`
	// Odds is what complaints say of the set; Against compares a revision of the
	// rules with the others.
	Odds    Odds      `json:"odds"`
	Against *Contrast `json:"against,omitempty"`
	// Next says what may be done, Steps are the commands for it.
	Next  string     `json:"next,omitempty"`
	Steps []NextStep `json:"steps,omitempty"`
}

// SiblingsOf gives the sets for one mark along every axis. Window is how long
// before and after the unit's own time the bench and badge count. Errors:
// *NotPrinted, or *NoSuch for a label that names no unit now.
func (f *Fold) SiblingsOf(m prep.Mark, window time.Duration) ([]Siblings, error) {
	u := f.bound(m)
	if u == nil {
		return nil, &NotPrinted{m}
	}
	if u.State == voided {
		return nil, &NoSuch{"unit under the cancelled label", m.String()}
	}
	var out []Siblings
	item := f.lots.row(u.Lot).Item
	for _, o := range f.originsOf(m, u) {
		if o.Run == 0 {
			continue
		}
		r := f.runs.row(o.Run)
		out = append(out, f.setOf([]runID{o.Run}).siblings(ByRun, f.runs.Keys[o.Run]))
		b := r.by(int(o.Ordinal))
		out = append(out, f.siblings(ByBench, fmt.Sprintf("%s %s", f.names.text(b.Fact.Station), f.names.text(b.Fact.Badge)),
			f.ofBench(b.Fact.Station, b.Fact.Badge, o.At, window)))
		for _, ml := range f.materials(r, int(o.Ordinal)) {
			out = append(out, f.siblingsByMaterial(ml.Lot))
		}
		out = append(out, f.templatesOf(r)...)
		if r.Warm {
			out = append(out, f.setOf(f.warmAir).siblings(ByWarmAir, warmAirKey))
		}
		s := f.setOf(f.runsBy(r.Rev, r.Recipe, false)).siblings(ByRules, f.rulesKey(r))
		if s.Odds.Complaints > 0 {
			s.Against = f.againstOthers(s, r.Rev, r.Recipe)
		}
		out = append(out, s)
	}
	out = append(out, f.setOf(f.lots.row(u.Lot).Runs).siblings(ByLot, f.lots.Keys[u.Lot]+" "+f.names.text(item)))
	if u.Carton != 0 && (f.cartons.row(u.Carton).Place == u.Place || u.State == left) {
		out = append(out, f.siblings(ByCarton, f.cartons.Keys[u.Carton], f.ofCarton(u.Carton)))
		if key := f.names.text(f.scaleOf(u.Carton)); key != "" {
			set, _ := f.scaledBy(key)
			out = append(out, set.siblings(key))
		}
	}
	return Judge(out, DefaultBackground), nil
}

// SiblingsAlong gives the set of one named thing: a run, a material lot, a
// source lot, a carton, a scale, a label template ("keep-sealed 2"), or a recipe of
// a revision ("r5 wrap"). Errors: *NoSuch.
func (f *Fold) SiblingsAlong(axis Axis, key string) (Siblings, error) {
	if s, ok := f.scaledAlong(axis, key); ok {
		return Judge([]Siblings{s.siblings(key)}, DefaultBackground)[0], nil
	}
	if axis == ByTemplate && f.templates[key] != nil {
		return Judge([]Siblings{f.byTemplate(key)}, DefaultBackground)[0], nil
	}
	if runs, ok := f.wholeRuns(axis, key); ok {
		return Judge([]Siblings{f.setOf(runs).siblings(axis, key)}, DefaultBackground)[0], nil
	}
	x := f.gather(axis, key)
	if x == nil {
		return Siblings{}, &NoSuch{string(axis), key}
	}
	return Judge([]Siblings{f.siblings(axis, key, x)}, DefaultBackground)[0], nil
}

// Members gives a page of at most n marks of such a set, from a mark on, and the
// mark that the next page begins with, or 0. Errors: *NoSuch.
func (f *Fold) Members(axis Axis, key string, from prep.Mark, n int) (prep.Marks, prep.Mark, error) {
	if s, ok := f.scaledAlong(axis, key); ok {
		list, next := s.page(from, n)
		return list, next, nil
	}
	if runs, ok := f.wholeRuns(axis, key); ok {
		list, next := f.setOf(runs).page(from, n)
		return list, next, nil
	}
	x := f.gather(axis, key)
	if x == nil {
		return nil, 0, &NoSuch{string(axis), key}
	}
	list := prep.NewMarks(x.marks...)
	at, _ := slices.BinarySearch(list, from)
	page, next := cut(list[at:], n)
	return page, next, nil
}

// wholeRuns gives the runs that a named set consists of, when it takes all of
// each. False: there is no such thing, or it is not of whole runs.
func (f *Fold) wholeRuns(axis Axis, key string) ([]runID, bool) {
	switch axis {
	case ByRun:
		id, ok := f.runs.find(key)
		return []runID{id}, ok
	case ByLot:
		id, ok := f.lots.find(key)
		return f.lots.row(id).Runs, ok
	case ByMaterial:
		return f.runsWith(key)
	case ByTemplate:
		if t := f.templates[key]; t != nil {
			return t.Runs, true
		}
	case ByWarmAir:
		return f.warmAir, key == warmAirKey && len(f.warmAir) > 0
	case ByRules:
		rev, recipe, ok := strings.Cut(strings.TrimPrefix(key, "r"), " ")
		n, err := strconv.Atoi(rev)
		runs := f.runsBy(n, f.names.lookup(recipe), false)
		return runs, ok && err == nil && len(runs) > 0
	}
	return nil, false
}

// rulesKey names a run's recipe and the revision that it is of.
func (f *Fold) rulesKey(r *run) string { return fmt.Sprintf("r%d %s", r.Rev, f.names.text(r.Recipe)) }

// runsWith gives the runs that used a lot of material, when every unit of each of
// them got of it.
func (f *Fold) runsWith(matlot string) ([]runID, bool) {
	m, id := f.matlots[matlot], f.names.lookup(matlot)
	if m == nil {
		return nil, false
	}
	for _, r := range m.Runs {
		if !slices.ContainsFunc(f.runs.row(r).Materials, func(u use) bool { return u.MatLot == id && u.From <= 1 && u.To == 0 }) {
			return nil, false
		}
	}
	return m.Runs, true
}

func (f *Fold) siblingsByMaterial(matlot string) Siblings {
	if runs, ok := f.runsWith(matlot); ok {
		return f.setOf(runs).siblings(ByMaterial, matlot)
	}
	return f.siblings(ByMaterial, matlot, f.ofMaterial(matlot))
}

// gather gathers the set of one named thing unit by unit, nil when there is no
// such thing.
func (f *Fold) gather(axis Axis, key string) *exposed {
	switch axis {
	case ByMaterial:
		if f.matlots[key] != nil {
			return f.ofMaterial(key)
		}
	case ByCarton:
		if id, ok := f.cartons.find(key); ok {
			return f.ofCarton(id)
		}
	}
	return nil
}

// siblings counts a gathered set and splits it by where the units are.
func (f *Fold) siblings(axis Axis, key string, x *exposed) Siblings {
	s := Siblings{Axis: axis, Key: key, AtMost: x.atMost}
	marks := prep.NewMarks(x.marks...)
	for _, m := range marks {
		if s.split(f.look(m).Stage, 1) {
			s.HereMarks = append(s.HereMarks, m)
		}
	}
	for _, h := range x.heaps {
		s.Class += h.N
		s.split(h.now, h.N)
	}
	s.N = len(marks) + s.Class
	has := func(m prep.Mark) bool { _, ok := slices.BinarySearch(marks, m); return ok }
	s.Odds.Complaints = f.complainedOf(has, func(h heapIn) bool {
		return slices.ContainsFunc(x.heaps, func(o heapIn) bool { return o.key == h.key })
	})
	if s.Marks = marks; axis != ByBench { // the window has no name to ask for its next page by
		s.Marks, s.More = cut(marks, PageMarks)
	}
	s.Next, s.Steps = s.next(), f.steps(s)
	return s
}

// split counts n units at a stage and says whether they are still here.
func (s *Siblings) split(at stage, n int) bool {
	switch {
	case at == dispatched:
		s.Dispatched += n
	case at == sealed:
		s.Sealed += n
	case at.gone():
		s.Elsewhere += n
	default:
		s.Here += n
		return true
	}
	return false
}

// SiblingsText writes the sets, one axis a line.
func SiblingsText(w io.Writer, of string, list []Siblings) error {
	b := &strings.Builder{}
	fmt.Fprintf(b, "siblings of %s, itself included; %s", of, axes(len(list)))
	if len(list) > 0 && list[0].Odds.Tested > 0 {
		fmt.Fprintf(b, ", %d tested against %s complained of elsewhere", list[0].Odds.Tested, percent(list[0].Odds.Background))
	}
	b.WriteString("\n")
	for _, s := range list {
		about := ""
		if s.AtMost {
			about = "at most "
		}
		fmt.Fprintf(b, "  %s %s: %s%d; here %d, sealed %d, dispatched %d", s.Axis, s.Key, about, s.N, s.Here, s.Sealed, s.Dispatched)
		if s.Elsewhere > 0 {
			fmt.Fprintf(b, ", elsewhere %d", s.Elsewhere)
		}
		b.WriteString(s.Odds.line() + "\n")
		if len(s.Marks) > 0 {
			fmt.Fprintf(b, "    %s%s\n", s.Marks, s.more())
		}
		if s.Against != nil {
			fmt.Fprintf(b, "    %s\n", s.Against.line())
		}
		if s.Next != "" {
			fmt.Fprintf(b, "    %s\n", s.Next)
		}
		for _, n := range s.Steps {
			fmt.Fprintf(b, "      %s%s%s\n", n.Does, suffix(": ", n.Line), suffix(": ", n.Command))
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// more says where the list goes on.
func (s Siblings) more() string {
	if s.More == 0 {
		return ""
	}
	return fmt.Sprintf(", and more from %s on", s.More)
}

func axes(n int) string {
	if n == 1 {
		return "1 axis"
	}
	return fmt.Sprintf("%d axes", n)
}
