package workflow

import (
	"slices"

	"packwright/events"
	"packwright/prep"
)

func (f *Floor) cartonOpened(e *events.Event, d *events.CartonOpened) error {
	c := f.carton(d.Carton)
	c.Plan, c.Bench, c.State = d.Plan, e.Station, CartonOpen
	c.Box, c.Tare = d.Box, d.Tare
	f.undoable(e, Undo{Carton: d.Carton})
	return nil
}

func (f *Floor) unitPlaced(e *events.Event, d *events.UnitPlaced) error {
	c, l := f.Cartons[d.Carton], f.Lots[d.Lot]
	if c == nil || l == nil {
		return unplaced("carton or lot", d.Carton+" "+d.Lot)
	}
	from := Key{d.Lot, events.Prepped, d.From}
	if err := f.Ledger.move(from, Key{d.Lot, events.Prepped, d.Carton}, d.Item, d.Q, d.Marks); err != nil {
		return err
	}
	c.changed(e)
	c.Owner = l.Owner
	c.Placers = with(c.Placers, e.Badge)
	c.Keyed = c.Keyed || e.Basis == events.Keyed && len(d.Marks) == 0
	c.Runs = with(c.Runs, d.Run)
	for _, m := range d.Marks {
		if u := f.Units[m]; u != nil {
			c.Runs = with(c.Runs, u.Run)
		}
	}
	for _, s := range d.Serials {
		if c.Serials == nil {
			c.Serials = map[string]bool{}
		}
		c.Serials[serialKey(d.Item, s)] = true
	}
	if t := f.Totes[d.From]; t != nil && f.Ledger.QtyAt(d.From) == 0 {
		t.Runs = nil
	}
	f.undoable(e, Undo{Carton: d.Carton, Lot: d.Lot, Item: d.Item, Place: d.From, Q: d.Q, Marks: d.Marks, Serials: d.Serials})
	return nil
}

func (f *Floor) unitTakenOut(e *events.Event, d *events.UnitTakenOut) error {
	c := f.Cartons[d.Carton]
	if c == nil {
		return unplaced("carton", d.Carton)
	}
	from := Key{d.Lot, events.Prepped, d.Carton}
	if err := f.Ledger.move(from, Key{d.Lot, events.Prepped, d.To}, d.Item, d.Q, d.Marks); err != nil {
		return err
	}
	if t := f.tote(d.To); t != nil {
		for _, r := range f.runsBack(c, d.Lot, d.Marks) {
			t.Runs = with(t.Runs, r)
		}
	}
	c.changed(e)
	for _, s := range d.Serials {
		delete(c.Serials, serialKey(d.Item, s))
	}
	if f.Ledger.QtyAt(d.Carton) == 0 { // a fresh start
		c.Owner, c.Placers, c.Keyed, c.Runs, c.First, c.FirstAt = "", nil, false, nil, "", events.Time{}
	}
	f.undoable(e, Undo{Carton: d.Carton, Lot: d.Lot, Item: d.Item, Place: d.To, Q: d.Q, Marks: d.Marks, Serials: d.Serials})
	return nil
}

// runsBack lists the runs that units taken out of a carton may come from.
func (f *Floor) runsBack(c *Carton, lot string, marks prep.Marks) (runs []string) {
	if len(marks) > 0 {
		return f.runsOf(taken{marks: marks})
	}
	for _, code := range c.Runs {
		if f.Runs[code].makes(lot) {
			runs = append(runs, code)
		}
	}
	return runs
}

func (f *Floor) cartonVoided(e *events.Event, d *events.CartonVoided) error {
	c := f.Cartons[d.Carton]
	if c == nil {
		return unplaced("carton", d.Carton)
	}
	c.State, c.Bench = CartonVoid, ""
	return nil
}

func (f *Floor) cartonHandedOver(e *events.Event, d *events.CartonHandedOver) error {
	c := f.Cartons[d.Carton]
	if c == nil {
		return unplaced("carton", d.Carton)
	}
	c.Bench = d.To
	return nil
}

// changed: the contents are no longer what was finished, counted or weighed.
func (c *Carton) changed(e *events.Event) {
	c.State, c.Touched = CartonOpen, e.Recorded
	c.Count, c.Weight, c.Cert, c.Agreed = nil, nil, nil, false
}

// with adds a word to a list once; the empty word is none.
func with(list []string, word string) []string {
	if word == "" || slices.Contains(list, word) {
		return list
	}
	return append(list, word)
}
