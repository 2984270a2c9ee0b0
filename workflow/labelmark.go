package workflow

import (
	"cmp"
	"slices"

	"packwright/events"
	"packwright/prep"
)

// voidAsk cancels a mark: of a unit, or of a label that never was on one.
type voidAsk struct {
	Mark   prep.Mark `json:"mark"`
	Reason string    `json:"reason"`
	cell   *Cell
	run    *Run // that a loose label was printed for
}

func (in *voidAsk) check() error {
	if in.Mark == 0 || in.Reason == "" {
		return prep.Input("the label or the reason is missing", "say which label, and why it is cancelled")
	}
	return nil
}

// remarkAsk gives a unit whose mark was cancelled a new one. Replaces is the
// label that was on the box, which may have been of another lot.
type remarkAsk struct {
	Lot      string    `json:"lot"`
	Run      string    `json:"run"`  // that prepped it; empty: the only one it can be
	Item     string    `json:"item"` // empty: the lot's
	From     string    `json:"from"`
	To       string    `json:"to"` // empty: where it is
	How      string    `json:"how"`
	Replaces prep.Mark `json:"replaces"`
	lot      *Lot
}

func (in *remarkAsk) check() error {
	if in.How == "" {
		in.How = "print"
		if in.Replaces != 0 {
			in.How = "replace"
		}
	}
	if in.How != "print" && in.How != "replace" || (in.How == "replace") != (in.Replaces != 0) {
		return prep.Input("how it is marked and what it replaces do not agree", "name the label on the box, or print anew")
	}
	return nil
}

// voidMarkRule: a supervisor cancels. All that is wrong is cancelled before
// anything is marked anew, so that no box ever bears two labels in force.
var voidMarkRule = on(rule{Name: "void-mark", Who: supervisors, Moves: []Move{{"unit", "prepped", "unmarked"}}}, []gate[voidAsk]{
	{Gate{"a label that was printed here", "E-CAR-06", ""}, func(d *decision, in *voidAsk) *Refusal {
		d.scope.Mark = in.Mark
		if !d.f.Printed.Has(in.Mark) {
			return refuse("E-CAR-06")
		}
		return nil
	}},
	{Gate{"a label in force", "E-CAR-07", ""}, func(d *decision, in *voidAsk) *Refusal {
		if v, void := d.f.Voided[in.Mark]; void {
			return again(cancelled(v))
		}
		return nil
	}},
	{Gate{"a label that is still here", "E-SEA-07", ""}, func(d *decision, in *voidAsk) *Refusal {
		in.cell = d.f.Ledger.Find(in.Mark)
		if in.cell == nil {
			in.run = d.f.printedFor(in.Mark)
		}
		if in.cell == nil && in.run == nil {
			return refuse("E-SEA-07", in.Mark.Display())
		}
		return nil
	}},
	{Gate{"a unit that is in no carton", "E-OUT-01", ""}, func(d *decision, in *voidAsk) *Refusal {
		if in.cell != nil && d.f.Cartons[in.cell.Place] != nil {
			d.scope.Carton = in.cell.Place
			return refuse("E-OUT-01", in.cell.Place)
		}
		return nil
	}},
	{Gate{"a unit that is not on hold", "E-HLD-03", ""}, func(d *decision, in *voidAsk) *Refusal {
		if in.cell != nil && in.cell.Stage != events.Prepped {
			return refuse("E-HLD-03")
		}
		return nil
	}},
}, func(d *decision, in *voidAsk) {
	if c := in.cell; c != nil {
		d.emit(&events.MarkVoided{Mark: in.Mark, Lot: c.Lot, Item: c.Item, Stage: c.Stage, Place: c.Place, Reason: in.Reason})
		return
	}
	d.emit(&events.LabelsSpoiled{Run: in.run.Run, Kind: markLabel(d.f.recipeOf(in.run)), N: 1, From: in.Mark, To: in.Mark, Why: in.Reason})
})

// printedFor gives the run a label was printed for that is on no unit and may
// still lie about: the run is not closed, or its labels are missed.
func (f *Floor) printedFor(m prep.Mark) *Run {
	for _, r := range f.Runs {
		if r.Marks.Contains(m) && !r.UsedMarks.Contains(m) && !r.Torn.Contains(m) && (r.State != RunClosed || r.unbalanced() != 0) {
			return r
		}
	}
	return nil
}

var remarkRule = on(rule{Name: "remark", Who: supervisors, Moves: []Move{{"unit", "unmarked", "prepped"}}}, []gate[remarkAsk]{
	{Gate{"a lot of this floor, and its own item", "E-SYS-07", ""}, func(d *decision, in *remarkAsk) *Refusal {
		in.lot = d.f.Lots[in.Lot]
		if in.lot == nil {
			return refuse("E-SYS-07", "Lot "+in.Lot)
		}
		d.scope.Lot = in.Lot
		if in.Item != "" && in.Item != in.lot.Item {
			return refuse("E-SYS-07", in.Item+" of "+in.Lot)
		}
		return nil
	}},
	{Gate{"the old label is cancelled", "E-LBL-01", ""}, func(d *decision, in *remarkAsk) *Refusal {
		if _, void := d.f.Voided[in.Replaces]; in.Replaces != 0 && !void {
			d.scope.Mark = in.Replaces
			return refuse("E-LBL-01", in.Replaces.Display())
		}
		return nil
	}},
	{Gate{"the old label is not replaced yet", "E-LBL-02", ""}, func(d *decision, in *remarkAsk) *Refusal {
		if by := d.f.Voided[in.Replaces].By; by != 0 {
			return refuse("E-LBL-02", in.Replaces.Display(), by.Display())
		}
		return nil
	}},
	{Gate{"a unit of the lot without a mark is there", "E-CAR-12", ""}, func(d *decision, in *remarkAsk) *Refusal {
		in.From = d.f.toteFor(in.From, in.Lot)
		if d.f.Ledger.N(Key{in.Lot, events.Unmarked, in.From}) == 0 {
			return refuse("E-CAR-12", in.From)
		}
		return nil
	}},
	{Gate{"the run that prepped it", "E-PRE-18", ""}, func(d *decision, in *remarkAsk) *Refusal {
		if in.Run == "" {
			in.Run = d.f.onlyRun(in.Lot)
		}
		if r := d.f.Runs[in.Run]; r == nil || r.Lot != in.Lot && r.Bundle != in.Lot {
			return refuse("E-PRE-18", in.Lot)
		}
		d.scope.Run = in.Run
		return nil
	}},
	{Gate{"a tote that is empty or holds the same lot, ready", "E-INT-02", "mixed-lots"}, func(d *decision, in *remarkAsk) *Refusal {
		in.To = cmp.Or(in.To, in.From)
		if in.To == in.From {
			return nil // it lies there
		}
		return d.f.toteTakes(in.To, in.Lot, events.Prepped)
	}},
}, func(d *decision, in *remarkAsk) {
	d.emit(&events.UnitMarked{Mark: d.f.Next.Mark, Lot: in.Lot, Item: in.lot.Item, Run: in.Run, From: in.From, To: in.To, How: in.How, Replaces: in.Replaces})
})

// onlyRun gives the run that all cancelled marks of a lot were of, or "".
func (f *Floor) onlyRun(lot string) string {
	var runs []string
	for _, v := range f.Voided {
		if v.Lot == lot && !slices.Contains(runs, v.Run) {
			runs = append(runs, v.Run)
		}
	}
	if len(runs) == 1 {
		return runs[0]
	}
	return ""
}
