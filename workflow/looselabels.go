package workflow

import (
	"packwright/events"
	"packwright/prep"
)

// LooseLabels are the labels of one kind that were printed for a run, are on no
// unit and were not spoiled.
type LooseLabels struct {
	Kind     events.LabelKind `json:"kind"`
	N        int              `json:"n"`
	Numbered bool             `json:"numbered,omitempty"` // they carry marks:
	Marks    prep.Marks       `json:"marks,omitempty"`    // those nobody has scanned yet
	Wanted   int              `json:"wanted,omitempty"`   // numbered ones that pieces still want
}

// LooseLabels tells the labels of a run, kind by kind; none for a run that is over
// or not there.
func (f *Floor) LooseLabels(run string) (out []LooseLabels) {
	r := f.Runs[run]
	if r == nil || r.State == RunClosed {
		return nil
	}
	recipe := f.recipeOf(r)
	if recipe == nil {
		return nil
	}
	shown := labelsOf(r, recipe)
	for i := range shown {
		l := LooseLabels{Kind: shown[i].Kind, N: shown[i].Left(), Numbered: f.numbered(r, recipe, shown[i].Kind)}
		if l.Numbered {
			for _, m := range r.Marks {
				if r.waits(m) {
					l.Marks = append(l.Marks, m)
				}
			}
			l.N, l.Wanted = len(l.Marks), max(f.unlabelled(r), 0)
		}
		out = append(out, l)
	}
	return out
}
