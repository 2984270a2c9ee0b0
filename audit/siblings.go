package audit

import (
	"fmt"
	"io"
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
)

// Siblings is all units that share one thing with the unit asked for, itself
// included, and where they are now. Only units that were made ready, or stand
// in a carton, are exposed; a unit that was diverted before prep is not.
type Siblings struct {
	Axis  Axis       `json:"axis"`
	Key   string     `json:"key"`
	N     int        `json:"n"`
	Marks prep.Marks `json:"marks,omitempty"`
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
	Next    string    `json:"next,omitempty"`
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
		out = append(out, f.siblings(ByRun, f.runs.Keys[o.Run], f.ofRun(o.Run)))
		b := r.by(int(o.Ordinal))
		out = append(out, f.siblings(ByBench, fmt.Sprintf("%s %s", f.names.text(b.Fact.Station), f.names.text(b.Fact.Badge)),
			f.ofBench(b.Fact.Station, b.Fact.Badge, o.At, window)))
		for _, ml := range f.materials(r, int(o.Ordinal)) {
			out = append(out, f.siblings(ByMaterial, ml.Lot, f.ofMaterial(ml.Lot)))
		}
		s := f.siblings(ByRules, fmt.Sprintf("r%d %s", r.Rev, f.names.text(r.Recipe)), f.ofRules(r.Rev, r.Recipe))
		if s.Odds.Complaints > 0 {
			s.Against = f.againstOthers(s, r.Rev, r.Recipe)
		}
		out = append(out, s)
	}
	out = append(out, f.siblings(ByLot, f.lots.Keys[u.Lot]+" "+f.names.text(item), f.ofLot(u.Lot)))
	if u.Carton != 0 && (f.cartons.row(u.Carton).Place == u.Place || u.State == left) {
		out = append(out, f.siblings(ByCarton, f.cartons.Keys[u.Carton], f.ofCarton(u.Carton)))
	}
	return Judge(out, DefaultBackground), nil
}

// SiblingsAlong gives the set of one named thing: a run, a material lot, a
// source lot or a carton. Errors: *NoSuch.
func (f *Fold) SiblingsAlong(axis Axis, key string) (Siblings, error) {
	x := f.along(axis, key)
	if x == nil {
		return Siblings{}, &NoSuch{string(axis), key}
	}
	return Judge([]Siblings{f.siblings(axis, key, x)}, DefaultBackground)[0], nil
}

// along gathers the set of one named thing, nil when there is no such thing.
func (f *Fold) along(axis Axis, key string) *exposed {
	switch axis {
	case ByRun:
		if id, ok := f.runs.find(key); ok {
			return f.ofRun(id)
		}
	case ByMaterial:
		if f.matlots[key] != nil {
			return f.ofMaterial(key)
		}
	case ByLot:
		if id, ok := f.lots.find(key); ok {
			return f.ofLot(id)
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
	s := Siblings{Axis: axis, Key: key, AtMost: x.atMost, Marks: prep.NewMarks(x.marks...)}
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
	s.Odds.Complaints = f.complainedOf(s.Marks, x.heaps)
	s.Next = s.next()
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
			fmt.Fprintf(b, "    %s\n", s.Marks)
		}
		if s.Against != nil {
			fmt.Fprintf(b, "    %s\n", s.Against.line())
		}
		if s.Next != "" {
			fmt.Fprintf(b, "    %s\n", s.Next)
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func axes(n int) string {
	if n == 1 {
		return "1 axis"
	}
	return fmt.Sprintf("%d axes", n)
}
