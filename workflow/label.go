package workflow

import (
	"cmp"

	"packwright/events"
	"packwright/prep"
)

// printAsk prints labels for a run, or the label of a carton.
type printAsk struct {
	ofRun
	Carton   string           `json:"carton"`
	Kind     events.LabelKind `json:"kind"`       // empty: the label that carries the marks, else the item label
	N        int              `json:"n"`          // 0: as many as are still wanted
	From     prep.Mark        `json:"marks_from"` // first number of a roll numbered before; 0: the next free
	Printer  string           `json:"printer"`
	Template int              `json:"template_rev"`
}

func (in *printAsk) check() error {
	if in.N < 0 || in.N > maxLabels || in.From+maxLabels < in.From {
		return prep.Input("so many labels cannot be printed at once", "print at most 10000")
	}
	ofCarton := in.Kind == events.CartonLabel || in.Kind == events.TeamLiftMark
	if (in.Carton != "") != ofCarton && (in.Carton == "" || in.Kind != "") {
		return prep.Input("a carton label goes with its carton", "send carton and kind: carton")
	}
	return nil
}

// maxLabels are the most that one command prints.
const maxLabels = 10_000

// liveAsk says that the first and last label of a range were scanned.
type liveAsk struct {
	ofRun
	From  prep.Mark `json:"from"`
	To    prep.Mark `json:"to"`
	fresh bool      // some of them were not live before
}

func (in *liveAsk) check() error {
	if in.To == 0 {
		in.To = in.From
	}
	if in.From == 0 || len(prep.MarksFromTo(min(in.From, in.To), max(in.From, in.To))) > maxLabels {
		return prep.Input("the range needs its first and last label", "scan both")
	}
	in.From, in.To = min(in.From, in.To), max(in.From, in.To)
	return nil
}

// labelKinds are the rulebook's words for labels that have a kind of their own;
// any other word is its own kind.
var labelKinds = map[string]events.LabelKind{
	"item-label":          events.ItemLabel,
	"item-label-second":   events.ItemLabel,
	"sold-as-set":         events.SoldAsOne,
	"suffocation-warning": events.BagWarning,
}

func kindOf(label string) events.LabelKind {
	return cmp.Or(labelKinds[label], events.LabelKind(label))
}

// labelsFor counts the labels of a kind on one unit.
func labelsFor(r *prep.Recipe, kind events.LabelKind) (n int) {
	for _, l := range r.Labels {
		if kindOf(l.ID) == kind {
			n += l.Count
		}
	}
	return n
}

// markLabel is the label that carries the mark: ours, when there is one, since
// others read the item label.
func markLabel(r *prep.Recipe) events.LabelKind {
	if r != nil && labelsFor(r, events.KeepSealed) > 0 {
		return events.KeepSealed
	}
	return events.ItemLabel
}

// numbered says whether labels of a kind are printed with marks for a run.
func (f *Floor) numbered(r *Run, recipe *prep.Recipe, kind events.LabelKind) bool {
	return f.marked(r) && kind == markLabel(recipe)
}

// unlabelled counts the units of a run that still want a numbered label.
func (f *Floor) unlabelled(r *Run) int {
	n := r.inHand()
	if r.Set > 0 {
		n = r.inHand()/r.Set + f.Ledger.N(r.source())
	}
	return n - (len(r.Marks) - len(r.UsedMarks) - len(r.Torn))
}

// ofPrint gives a gate that is asked of labels for a run, not of a carton's.
func ofPrint(g Gate, shut func(*decision, *printAsk) *Refusal) gate[printAsk] {
	return gate[printAsk]{g, func(d *decision, in *printAsk) *Refusal {
		if in.Carton != "" {
			return nil
		}
		return shut(d, in)
	}}
}

// labelRules are what is printed, stuck on, torn and cancelled.
var labelRules = []rule{
	on(rule{Name: "print-labels", Who: packers}, []gate[printAsk]{
		{Gate{"a carton that is planned or on the floor, or a label of the recipe", "E-SYS-07", ""}, func(d *decision, in *printAsk) *Refusal {
			if in.Carton == "" {
				return nil // the run's gates come first
			}
			d.scope.Carton = in.Carton
			if c := d.f.Cartons[in.Carton]; c == nil || c.State == CartonVoid || c.State == CartonDispatched {
				return refuse("E-SYS-07", cmp.Or(in.Carton, "Carton"))
			}
			return nil
		}},
		ofPrint(Gate{"a run open at this bench, in these hands; without explicit runs: the gates of open-run", "E-PRE-08", ""}, func(d *decision, in *printAsk) *Refusal {
			return d.inHands(&in.ofRun)
		}),
		ofPrint(standing, func(d *decision, in *printAsk) *Refusal { return d.stands(&in.ofRun) }),
		ofPrint(Gate{"a label of the recipe", "E-SYS-07", ""}, func(d *decision, in *printAsk) *Refusal {
			in.Kind = kindOf(string(cmp.Or(in.Kind, markOrItem(d.f, in))))
			if labelsFor(in.recipe, in.Kind) == 0 && !d.f.numbered(in.run, in.recipe, in.Kind) {
				return refuse("E-SYS-07", "Label "+string(in.Kind))
			}
			return nil
		}),
		ofPrint(Gate{"no more numbered labels than pieces without one", "E-INT-05", ""}, func(d *decision, in *printAsk) *Refusal {
			return d.labelsWanted(in)
		}),
		ofPrint(Gate{"numbers that were never printed, when a numbered roll is used", "E-PRE-19", ""}, func(d *decision, in *printAsk) *Refusal {
			for i := range in.N {
				if m := in.From + prep.Mark(i); in.From != 0 && d.f.Printed.Has(m) {
					return refuse("E-PRE-19", m.Display())
				}
			}
			return nil
		}),
	}, func(d *decision, in *printAsk) {
		if in.Carton != "" {
			d.emit(&events.LabelsPrinted{Carton: in.Carton, Kind: cmp.Or(in.Kind, events.CartonLabel), N: max(in.N, 1), Printer: in.Printer, Template: in.Template})
			return
		}
		d.begin(&in.ofRun)
		d.prints(in.run, in.recipe, events.LabelsPrinted{Kind: in.Kind, N: in.N, From: in.From, Printer: in.Printer, Template: in.Template})
	}),

	on(rule{Name: "labels-live", Who: packers, Late: true}, inHands(
		gate[liveAsk]{Gate{"labels that were not spoiled", "E-CAR-07", ""}, func(d *decision, in *liveAsk) *Refusal {
			for _, m := range []prep.Mark{in.From, in.To} {
				if v, void := d.f.Voided[m]; void {
					return cancelled(v)
				}
			}
			return nil
		}},
		gate[liveAsk]{Gate{"labels that were printed here", "E-CAR-06", ""}, func(d *decision, in *liveAsk) *Refusal {
			if !d.f.Printed.Has(in.From) || !d.f.Printed.Has(in.To) {
				return refuse("E-CAR-06")
			}
			return nil
		}},
		gate[liveAsk]{Gate{"no label of another run", "E-PRE-04", ""}, func(d *decision, in *liveAsk) *Refusal {
			for _, m := range prep.MarksFromTo(in.From, in.To) {
				if d.scope.Mark = m; !in.run.Marks.Contains(m) {
					return refuse("E-PRE-04")
				}
				in.fresh = in.fresh || in.run.waits(m)
			}
			return nil
		}},
	), func(d *decision, in *liveAsk) {
		if in.fresh {
			d.emit(&events.LabelsLive{Run: in.run.Run, From: in.From, To: in.To})
		}
	}),

	spoilLabelsRule, printAgainRule, voidMarkRule, remarkRule,
}

// waits says whether a label was printed and neither scanned, used nor spoiled.
func (r *Run) waits(m prep.Mark) bool {
	return r.Marks.Contains(m) && !r.Live.Contains(m) && !r.UsedMarks.Contains(m) && !r.Torn.Contains(m)
}

func markOrItem(f *Floor, in *printAsk) events.LabelKind {
	if f.marked(in.run) {
		return markLabel(in.recipe)
	}
	return events.ItemLabel
}

func (d *decision) labelsWanted(in *printAsk) *Refusal {
	r := in.run
	if !d.f.numbered(r, in.recipe, in.Kind) {
		if in.N == 0 {
			sets := 0
			if r.Set > 0 {
				sets = d.f.Ledger.N(r.source())
			}
			in.N = (r.done()+sets+r.inHand()/max(r.Set, 1))*labelsFor(in.recipe, in.Kind) - r.Printed[in.Kind] + r.Torns[in.Kind]
		}
		if in.N < 1 {
			return refuse("E-INT-05", in.N)
		}
		return nil
	}
	want := d.f.unlabelled(r)
	if in.N == 0 {
		in.N = want
	}
	if in.N < 1 || in.N > want {
		return refuse("E-INT-05", in.N)
	}
	return nil
}

// prints emits what is printed for a run. Marks are counted up and never come
// back: those of this very decision included.
func (d *decision) prints(r *Run, recipe *prep.Recipe, e events.LabelsPrinted) {
	e.Run = r.Run
	if !d.f.numbered(r, recipe, e.Kind) {
		e.From = 0
	} else {
		if e.From == 0 {
			e.From = d.f.Next.Mark
		}
		e.To = e.From + prep.Mark(e.N) - 1
	}
	d.emit(&e)
}
