package printing

import (
	"packwright/events"
	"packwright/prep"
	"packwright/prep/label"
	"packwright/workflow"
)

// OfRun makes the labels of one kind that lie about for a run, those with marks one
// for each mark. Letters puts the mark beside an item's number in letters, where a
// square finds no room. Errors: *prep.InputError for a kind whose size or words the
// floor does not know.
func OfRun(r *workflow.Run, it prep.Item, loose workflow.LooseLabels, letters bool) ([]label.Label, error) {
	make, ok := kinds[loose.Kind]
	if !ok {
		return nil, prep.Input("no drawing is kept for the label "+string(loose.Kind), "take a ready one, or packwright label for those with sizes of their own")
	}
	as := label.MarkSquare
	if letters {
		as = label.MarkText
	}
	var all []label.Label
	if !loose.Numbered {
		for range loose.N {
			all = append(all, make(r, it, 0, label.MarkNowhere))
		}
		return all, nil
	}
	for _, m := range loose.Marks {
		all = append(all, make(r, it, m, as))
	}
	return all, nil
}

// Draws says whether labels of a kind can be made of what the floor knows.
func Draws(kind events.LabelKind) bool { return kinds[kind] != nil }

var kinds = map[events.LabelKind]func(*workflow.Run, prep.Item, prep.Mark, label.MarkAs) label.Label{
	events.ItemLabel: func(r *workflow.Run, it prep.Item, m prep.Mark, as label.MarkAs) label.Label {
		x := label.Item{Code: r.Item, Name: it.Name, Note: r.Run, Mark: m, MarkAs: as}
		if len(it.Codes) > 0 {
			x.GTIN, x.Code = it.Codes[0], ""
		}
		return x
	},
	events.KeepSealed: func(r *workflow.Run, it prep.Item, m prep.Mark, _ label.MarkAs) label.Label {
		return label.KeepSealed{Mark: m, Name: it.Name, Run: r.Run}
	},
	events.SoldAsOne: func(r *workflow.Run, it prep.Item, m prep.Mark, _ label.MarkAs) label.Label {
		return label.SoldAsOne{Pieces: r.Set, Mark: m, Name: it.Name, Run: r.Run}
	},
}
