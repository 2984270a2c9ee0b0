package audit

import (
	"fmt"
	"io"
	"slices"
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
	Axis Axis   `json:"axis"`
	Key  string `json:"key"`
	// PagesBy is the name that [Fold.Members] finds the set by, where Key is not.
	PagesBy string     `json:"pages_by,omitempty"`
	N       int        `json:"n"`
	Marks   prep.Marks `json:"marks,omitempty"`     // the first PageMarks of them
	More    prep.Mark  `json:"more_from,omitempty"` // the mark after those; see [Fold.Members]
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
		if w := f.around(r.madeBy(int(o.Ordinal)), o.At, window); w != nil {
			out = append(out, w.siblings())
		}
		for _, ml := range f.materials(r, int(o.Ordinal)) {
			out = append(out, f.along(ByMaterial, ml.Lot, setKey{kind: ofMaterial, of: int32(f.names.lookup(ml.Lot))}))
		}
		out = append(out, f.templatesOf(m, r)...)
		if r.Warm {
			out = append(out, f.along(ByWarmAir, warmAirKey, setKey{kind: ofWarmAir}))
		}
		rules := setKey{ofRules, int32(r.Recipe), int32(r.Rev)}
		s := f.along(ByRules, f.rulesKey(r), rules)
		if s.Odds.Complaints > 0 {
			s.Against = Compare(Tally{min(s.Odds.Complaints, s.N), s.N}, f.othersOf(rules))
		}
		out = append(out, s)
	}
	lot := f.setOf(f.lots.row(u.Lot).Runs).siblings(ByLot, f.lots.Keys[u.Lot])
	lot.Key += " " + f.names.text(item)
	out = append(out, lot)
	if u.Carton != 0 && (f.cartons.row(u.Carton).Place == u.Place || u.State == left) {
		out = append(out, f.inCarton(u.Carton))
		if key := f.names.text(f.scaleOf(u.Carton)); key != "" {
			set, _ := f.scaledBy(key)
			out = append(out, set.siblings(key))
		}
	}
	return Judge(out, DefaultBackground), nil
}

// SiblingsAlong gives the set of one named thing: a run, a material lot, a
// source lot, a carton, a scale, a label template ("keep-sealed 2"), a recipe of a
// revision ("r5 wrap"), or a window of a badge at a bench ("ST-2 ife FROM..TO").
// Errors: *NoSuch.
func (f *Fold) SiblingsAlong(axis Axis, key string) (Siblings, error) {
	s, ok := f.named(axis, key)
	if !ok {
		return Siblings{}, &NoSuch{string(axis), key}
	}
	return Judge([]Siblings{s.count()}, DefaultBackground)[0], nil
}

// Members gives a page of at most n marks of such a set, from a mark on, and the
// mark that the next page begins with, or 0. Errors: *NoSuch.
func (f *Fold) Members(axis Axis, key string, from prep.Mark, n int) (prep.Marks, prep.Mark, error) {
	s, ok := f.named(axis, key)
	if !ok {
		return nil, 0, &NoSuch{string(axis), key}
	}
	list, next := s.page(from, n)
	return list, next, nil
}

// namedSet is a set that can be counted and listed.
type namedSet struct {
	count func() Siblings
	page  func(from prep.Mark, n int) (prep.Marks, prep.Mark)
}

// named finds the set of one named thing. False: there is no such thing.
func (f *Fold) named(axis Axis, key string) (namedSet, bool) {
	switch axis {
	case ByBench:
		if w := f.windowNamed(key); w != nil {
			return namedSet{w.siblings, w.page}, true
		}
		return namedSet{}, false
	case ByScale:
		s, ok := f.scaledBy(key)
		return namedSet{func() Siblings { return s.siblings(key) }, s.page}, ok
	case ByCarton:
		id, ok := f.cartons.find(key)
		return namedSet{func() Siblings { return f.inCarton(id) }, func(from prep.Mark, n int) (prep.Marks, prep.Mark) {
			list := prep.NewMarks(f.ofCarton(id).marks...)
			at, _ := slices.BinarySearch(list, from)
			return cut(list[at:], n)
		}}, ok
	case ByRun:
		id, ok := f.runs.find(key)
		s := f.setOf([]runID{id})
		return namedSet{func() Siblings { return s.siblings(axis, key) }, s.page}, ok
	}
	if k, ok := f.keyNamed(axis, key); ok {
		count := func() Siblings { return f.along(axis, key, k) }
		if axis == ByTemplate {
			count = func() Siblings { return f.byTemplate(key, k) }
		}
		return namedSet{count, func(from prep.Mark, n int) (prep.Marks, prep.Mark) { return f.pageOf(f.sets[k].Spans, from, n) }}, true
	}
	id, ok := f.lots.find(key)
	s := f.setOf(f.lots.row(id).Runs)
	return namedSet{func() Siblings { return s.siblings(axis, key) }, s.page}, ok && axis == ByLot
}

// rulesKey names a run's recipe and the revision that it is of.
func (f *Fold) rulesKey(r *run) string { return fmt.Sprintf("r%d %s", r.Rev, f.names.text(r.Recipe)) }

// inCarton counts what a carton holds, or held when it left.
func (f *Fold) inCarton(id cartonID) Siblings {
	x, key := f.ofCarton(id), f.cartons.Keys[id]
	s := f.siblings(ByCarton, key, x)
	for _, m := range x.marks {
		s.Odds.Complaints += int(min(f.bad[m], 1))
	}
	for _, c := range f.askedAt[key] {
		if a := f.asked[c]; a != nil {
			s.Odds.Complaints += int(a.n)
		}
	}
	s.Next, s.Steps = s.next(), f.steps(s)
	return s
}

// siblings counts a gathered set and splits it by where the units are.
func (f *Fold) siblings(axis Axis, key string, x *exposed) Siblings {
	s := Siblings{Axis: axis, Key: key}
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
	s.Marks, s.More = cut(marks, PageMarks)
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
	if s.PagesBy != "" {
		return fmt.Sprintf(", and more from %s on; ask for %q", s.More, s.PagesBy)
	}
	return fmt.Sprintf(", and more from %s on", s.More)
}

func axes(n int) string {
	if n == 1 {
		return "1 axis"
	}
	return fmt.Sprintf("%d axes", n)
}
