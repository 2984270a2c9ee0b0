package audit

import (
	"fmt"
	"slices"

	"packwright/prep"
)

// Labels with numbers are told apart: a unit is of the template that its own label was
// printed by, whatever its run printed before or after. A torn label is printed anew
// under a new number, so that a number is printed once. Of labels without numbers
// nobody knows which went on which unit: they count by the run.

// template is one revision of a kind of label without numbers, with the runs that
// printed by it: one number a run. A run that printed by two revisions of such a kind
// is counted whole with each, and both sets are then told as "at most".
type template struct {
	Runs  []runID `json:"runs"`
	Mixed bool    `json:"mixed,omitempty"`
}

// templateKey names a revision of a kind of label: "keep-sealed 2".
func templateKey(kind string, rev int) string { return fmt.Sprintf("%s %d", kind, rev) }

// printedBy keeps that a run printed labels of a kind by a revision; 0: the event
// does not say by which.
func (f *Fold) printedBy(id runID, l *labels, rev int) {
	if rev == 0 || slices.Contains(l.Revs, rev) {
		return
	}
	l.Revs = append(l.Revs, rev)
	kind := f.names.text(l.Kind)
	key := templateKey(kind, rev)
	if f.templates[key] == nil {
		f.templates[key] = &template{}
	}
	f.templates[key].Runs = append(f.templates[key].Runs, id)
	if len(l.Revs) > 1 {
		for _, r := range l.Revs {
			f.templates[templateKey(kind, r)].Mixed = true
		}
	}
}

// printedMarks keeps that marks were printed. Those that are on units already count
// with the template from here on.
func (f *Fold) printedMarks(p printed) {
	f.printed = append(f.printed, p)
	f.byMark = slices.Insert(f.byMark, f.printedUpTo(p.From), int32(len(f.printed)-1))
	if p.Rev == 0 {
		return
	}
	f.settleKin()
	f.askAnew()
	f.numbered = true
	f.setOfKey(setKey{ofTemplate, int32(p.Kind), p.Rev})
	for m := p.From; m <= p.To; m++ {
		if u := f.bound(m); u != nil && f.counted(m, u) {
			f.templateMoved(movedMark{mark: m, fresh: true, by: f.musterOf(m, u)})
		}
	}
}

// keyPrinted appends the template that a mark's own label was printed by, where the
// printing says.
func (f *Fold) keyPrinted(list []setKey, m prep.Mark) []setKey {
	if !f.numbered {
		return list
	}
	if p := f.printedAs(m); p != nil && p.Rev != 0 {
		list = append(list, setKey{ofTemplate, int32(p.Kind), p.Rev})
	}
	return list
}

// templateMoved passes what became of a mark on to the template that its label was
// printed by.
func (f *Fold) templateMoved(m movedMark) {
	for _, k := range f.keyPrinted(nil, m.mark) {
		s := f.setOfKey(k)
		if s.Marks.add(m.by, 1); m.fresh {
			s.Spans.put(m.mark, true)
		}
	}
}

// byTemplate gives the set of a revision of a kind of label.
func (f *Fold) byTemplate(key string, k setKey) Siblings {
	s := f.along(ByTemplate, key, k)
	t := f.templates[key]
	s.AtMost = s.AtMost || t != nil && t.Mixed
	return s
}

// templatesOf gives a set for the revision that a unit's own label was printed by, and
// for each that its run's labels without numbers were.
func (f *Fold) templatesOf(m prep.Mark, r *run) (out []Siblings) {
	keys := f.keyPrinted(nil, m)
	for _, l := range r.Labels {
		for _, rev := range l.Revs {
			keys = append(keys, setKey{ofTemplate, int32(l.Kind), int32(rev)})
		}
	}
	for _, k := range distinct(keys) {
		out = append(out, f.byTemplate(templateKey(f.names.text(name(k.of)), int(k.rev)), k))
	}
	return out
}
