package audit

import (
	"fmt"
	"slices"
)

// template is one revision of a kind of label, with the runs that printed by it:
// one number a run. A run that printed by two revisions of a kind is counted whole
// with each, and both sets are then told as "at most".
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

// byTemplate gives the set of a revision of a kind of label.
func (f *Fold) byTemplate(key string) Siblings {
	t := f.templates[key]
	s := f.setOf(t.Runs).siblings(ByTemplate, key)
	s.AtMost = s.AtMost || t.Mixed
	return s
}

// templatesOf gives a set for each revision that a run's labels were printed by.
func (f *Fold) templatesOf(r *run) (out []Siblings) {
	for _, l := range r.Labels {
		for _, rev := range l.Revs {
			out = append(out, f.byTemplate(templateKey(f.names.text(l.Kind), rev)))
		}
	}
	return out
}
