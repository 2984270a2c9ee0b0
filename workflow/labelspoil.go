package workflow

import (
	"cmp"

	"packwright/events"
	"packwright/prep"
)

// spoilLabelsAsk takes labels out of the balance: numbered ones by their range,
// plain ones by how many.
type spoilLabelsAsk struct {
	ofRun
	Kind events.LabelKind `json:"kind"` // empty: as print-labels
	N    int              `json:"n"`
	From prep.Mark        `json:"from"`
	To   prep.Mark        `json:"to"`
	Why  string           `json:"why"`
}

func (in *spoilLabelsAsk) check() error {
	if in.To == 0 {
		in.To = in.From
	}
	if in.N < 0 || in.To < in.From || in.From == 0 && in.To != 0 {
		return prep.Input("the range ends before it begins", "scan its first and last label")
	}
	n := int(in.To-in.From) + 1
	if in.From != 0 && (n > maxLabels || in.N != 0 && in.N != n) {
		return prep.Input("the number and the range do not agree", "send one of them")
	}
	if in.N == 0 {
		in.N = 1
		if in.From != 0 {
			in.N = n
		}
	}
	return nil
}

// printAgainAsk spoils labels and prints as many new ones, in one frame.
type printAgainAsk struct {
	spoilLabelsAsk
	Printer  string `json:"printer"`
	Template int    `json:"template_rev"`
}

func (in *spoilLabelsAsk) labels() *spoilLabelsAsk { return in }

// spoilsLabels is an ask that embeds spoilLabelsAsk.
type spoilsLabels[T any] interface {
	*T
	labels() *spoilLabelsAsk
}

// spoilGates are the gates of labels that are thrown away.
func spoilGates[T any, P spoilsLabels[T]]() []gate[T] {
	return []gate[T]{
		{Gate{"labels of this run that are on no unit", "E-PRE-10", ""}, func(d *decision, t *T) *Refusal {
			return d.looseLabels(P(t).labels())
		}},
		{Gate{"no more plain labels than were printed and are on no unit", "E-INT-05", ""}, func(d *decision, t *T) *Refusal {
			in := P(t).labels()
			if in.From != 0 {
				return nil
			}
			loose := in.run.Printed[in.Kind] - in.run.Torns[in.Kind]
			if in.recipe != nil {
				loose -= in.run.done() * labelsFor(in.recipe, in.Kind)
			}
			if in.N > loose {
				return refuse("E-INT-05", in.N)
			}
			return nil
		}},
	}
}

// looseLabels asks for labels that were printed for this run and are on no unit.
// A label spoiled before is that already.
func (d *decision) looseLabels(in *spoilLabelsAsk) *Refusal {
	r := in.run
	if in.From == 0 {
		in.Kind = kindOf(string(cmp.Or(in.Kind, events.ItemLabel)))
		if d.f.numbered(r, in.recipe, in.Kind) {
			return refuse("E-PRE-10", "without number")
		}
		return nil
	}
	in.Kind = markLabel(in.recipe)
	torn := 0
	for _, m := range prep.MarksFromTo(in.From, in.To) {
		d.scope.Mark = m
		switch {
		case r.Torn.Contains(m):
			torn++
		case !r.Marks.Contains(m) || r.UsedMarks.Contains(m):
			return refuse("E-PRE-10", m.Display())
		}
	}
	switch {
	case torn == in.N:
		return again(refuse("E-PRE-10", in.From.Display()))
	case torn > 0:
		return refuse("E-PRE-10", in.From.Display())
	}
	return nil
}

// lastRun lets labels of a closed run be found and destroyed at its bench, while they are missed.
func (d *decision) lastRun(in *spoilLabelsAsk) *Refusal {
	r := d.f.Runs[in.Run]
	if r == nil || r.State != RunClosed || r.Station != d.id.Station || r.unbalanced() == 0 {
		return d.inHands(&in.ofRun)
	}
	d.takes(&in.ofRun, r)
	return nil
}

var spoilLabelsRule = on(rule{Name: "spoil-labels", Who: packers, Late: true}, append([]gate[spoilLabelsAsk]{
	{Gate{"a run open here in these hands, or one closed here whose labels are missed", "E-PRE-08", ""}, func(d *decision, in *spoilLabelsAsk) *Refusal {
		return d.lastRun(in)
	}},
}, spoilGates[spoilLabelsAsk]()...), func(d *decision, in *spoilLabelsAsk) {
	d.begin(&in.ofRun)
	d.emit(&events.LabelsSpoiled{Run: in.run.Run, Kind: in.Kind, N: in.N, From: in.From, To: in.To, Why: in.Why})
})

var printAgainRule = on(rule{Name: "print-again", Who: packers}, working(spoilGates[printAgainAsk]()...), func(d *decision, in *printAgainAsk) {
	d.begin(&in.ofRun)
	d.emit(&events.LabelsSpoiled{Run: in.run.Run, Kind: in.Kind, N: in.N, From: in.From, To: in.To, Why: in.Why})
	d.prints(in.run, in.recipe, events.LabelsPrinted{Kind: in.Kind, N: in.N, Printer: in.Printer, Template: in.Template})
})
