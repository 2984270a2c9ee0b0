package audit_test

import (
	"packwright/events"
	"packwright/prep"
)

// shift moves q units, or the marked ones, between two cells given without marks.
func (f *floor) shift(from, to events.Cell, q int, marks prep.Marks) {
	f.t.Helper()
	if len(marks) == 0 {
		f.add(from, -q)
		f.add(to, q)
		return
	}
	for _, m := range marks {
		from.Mark, to.Mark = m, m
		if to.Stage.Gone() {
			to.Mark = 0
		}
		f.add(from, -1)
		f.add(to, 1)
	}
}

func (f *floor) add(c events.Cell, n int) {
	f.t.Helper()
	if f.cells[c] += n; f.cells[c] < 0 {
		f.t.Fatalf("the script takes more out of %+v than is there", c)
	}
	if f.cells[c] == 0 {
		delete(f.cells, c)
	}
}

// all shifts everything in a carton from one stage to another.
func (f *floor) all(carton string, from, to events.Stage) {
	moved := map[events.Cell]int{}
	for c, n := range f.cells {
		if c.Place == carton && c.Stage == from {
			moved[c] = n
		}
	}
	for c, n := range moved {
		dest := c
		dest.Stage = to
		if to.Gone() {
			dest.Place, dest.Mark = "", 0
		}
		f.add(c, -n)
		f.add(dest, n)
	}
	if to == events.Dispatched {
		f.kept[carton] = moved
	}
}

// move keeps the plain books: the table of package events once more.
func (f *floor) move(e *events.Event) {
	f.t.Helper()
	cell := func(lot, item string, s events.Stage, place string) events.Cell {
		if s.Gone() {
			place = ""
		}
		return events.Cell{Lot: lot, Item: item, Stage: s, Place: place}
	}
	switch d := e.Data.(type) {
	case *events.LotReceived:
		f.add(cell(d.Lot, d.Item, events.Received, d.Tote), d.Qty)
	case *events.LotCorrected:
		f.add(cell(d.Lot, d.Item, d.Stage, d.Place), d.Delta)
	case *events.ToteSplit:
		f.shift(cell(d.Lot, d.Item, d.Stage, d.From), cell(d.Lot, d.Item, d.Stage, d.To), d.Q, d.Marks)
	case *events.UnitsTriaged:
		place := d.Tote
		if d.Verdict == events.ToHold {
			place = d.To
		}
		f.shift(cell(d.Lot, d.Item, events.Received, d.Tote), cell(d.Lot, d.Item, d.Verdict.Stage(), place), d.Q, nil)
	case *events.UnitsHeld:
		f.shift(cell(d.Lot, d.Item, d.Stage, d.From), cell(d.Lot, d.Item, events.Held, d.To), d.Q, d.Marks)
	case *events.HoldReleased:
		f.shift(cell(d.Lot, d.Item, events.Held, d.From), cell(d.Lot, d.Item, d.Stage, d.To), d.Q, d.Marks)
	case *events.UnitsDiverted:
		f.shift(cell(d.Lot, d.Item, d.Stage, d.From), cell(d.Lot, d.Item, events.Diverted, ""), d.Q, d.Marks)
	case *events.UnitsReturnedToFloor:
		f.shift(cell(d.Lot, d.Item, events.Diverted, ""), cell(d.Lot, d.Item, events.Received, d.Tote), d.Q, nil)
	case *events.UnitsWrittenOff:
		f.shift(cell(d.Lot, d.Item, d.Stage, d.From), cell(d.Lot, d.Item, events.WrittenOff, ""), d.Q, d.Marks)
	case *events.UnitsUnaccounted:
		f.shift(cell(d.Lot, d.Item, d.Stage, d.From), cell(d.Lot, d.Item, events.Unaccounted, ""), d.Q, d.Marks)
	case *events.UnitsPrepped:
		f.add(cell(d.Lot, d.Item, events.Triaged, d.From), -d.Q)
		to := cell(d.Lot, d.Item, events.Prepped, d.To)
		if len(d.Marks) == 0 {
			f.add(to, d.Q)
		}
		for _, m := range d.Marks {
			to.Mark = m
			f.add(to, 1)
		}
	case *events.UnitSpoiled:
		var marks prep.Marks
		if d.Mark > 0 {
			marks = prep.Marks{d.Mark}
		}
		f.shift(cell(d.Lot, d.Item, d.Stage, d.From), cell(d.Lot, d.Item, d.Verdict.Stage(), d.To), d.Q, marks)
	case *events.BundleBuilt:
		for _, c := range d.Components {
			f.shift(cell(c.Lot, c.Item, c.Stage, c.From), cell(c.Lot, c.Item, events.Consumed, ""), c.Q, c.Marks)
		}
		f.add(cell(d.Lot, d.Item, events.Triaged, d.To), d.Q)
	default:
		f.moveCarton(e, cell)
	}
}

func (f *floor) moveCarton(e *events.Event, cell func(lot, item string, s events.Stage, place string) events.Cell) {
	f.t.Helper()
	switch d := e.Data.(type) {
	case *events.MarkVoided:
		c := cell(d.Lot, d.Item, d.Stage, d.Place)
		c.Mark = d.Mark
		f.add(c, -1)
		f.add(cell(d.Lot, d.Item, events.Unmarked, d.Place), 1)
	case *events.UnitMarked:
		f.add(cell(d.Lot, d.Item, events.Unmarked, d.From), -1)
		c := cell(d.Lot, d.Item, events.Prepped, d.To)
		c.Mark = d.Mark
		f.add(c, 1)
	case *events.UnitPlaced:
		f.shift(cell(d.Lot, d.Item, events.Prepped, d.From), cell(d.Lot, d.Item, events.Prepped, d.Carton), d.Q, d.Marks)
	case *events.UnitTakenOut:
		f.shift(cell(d.Lot, d.Item, events.Prepped, d.Carton), cell(d.Lot, d.Item, events.Prepped, d.To), d.Q, d.Marks)
	case *events.CountAccepted:
		f.all(d.Carton, events.Prepped, events.Counted)
	case *events.CountVoided:
		f.all(d.Carton, events.Counted, events.Prepped)
	case *events.CartonSealed:
		f.all(d.Carton, events.Counted, events.Sealed)
	case *events.CartonReopened:
		f.all(d.Carton, events.Sealed, events.Prepped)
	case *events.CartonDispatched:
		f.all(d.Carton, events.Sealed, events.Dispatched)
	case *events.DispatchCancelled:
		for c, n := range f.kept[d.Carton] {
			f.add(cell(c.Lot, c.Item, events.Dispatched, ""), -n)
			f.add(c, n)
		}
		delete(f.kept, d.Carton)
	}
}
