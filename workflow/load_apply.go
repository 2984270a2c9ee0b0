package workflow

import (
	"slices"

	"packwright/events"
)

func (f *Floor) loadOpened(e *events.Event, d *events.LoadOpened) error {
	f.Loads[d.Load] = &Load{Load: d.Load, Due: d.Due}
	return nil
}

// cartonDispatched keeps what left with the carton, so that it can come back
// until the load is closed.
func (f *Floor) cartonDispatched(e *events.Event, d *events.CartonDispatched) error {
	c, l := f.Cartons[d.Carton], f.Loads[d.Load]
	if c == nil || l == nil {
		return unplaced("carton or load", d.Carton+" "+d.Load)
	}
	if err := c.is(CartonSealed); err != nil {
		return err
	}
	n := 0
	for _, x := range f.Ledger.At(d.Carton) {
		left := *x
		left.Marks = slices.Clone(x.Marks)
		c.Gone = append(c.Gone, &left)
		f.Spent.Add(x.Marks...)
		n += x.Qty()
	}
	c.State, c.Load = CartonDispatched, d.Load
	l.Cartons = append(l.Cartons, d.Carton)
	if p := f.Plans[c.Plan]; p != nil {
		p.Sealed, p.Dispatched = p.Sealed+n, p.Dispatched+n
	}
	return f.Ledger.moveAll(d.Carton, events.Sealed, events.Dispatched)
}

func (f *Floor) dispatchCancelled(e *events.Event, d *events.DispatchCancelled) error {
	c, l := f.Cartons[d.Carton], f.Loads[d.Load]
	if c == nil || l == nil {
		return unplaced("carton or load", d.Carton+" "+d.Load)
	}
	if err := c.is(CartonDispatched); err != nil {
		return err
	}
	n := 0
	for _, x := range c.Gone {
		if err := f.Ledger.take(Key{x.Lot, events.Dispatched, ""}, x.Qty(), nil); err != nil {
			return err
		}
		if x.N > 0 {
			f.Ledger.put(x.Key, x.Item, x.N, nil)
		}
		if len(x.Marks) > 0 {
			f.Ledger.put(x.Key, x.Item, len(x.Marks), x.Marks)
		}
		for _, m := range x.Marks {
			f.Spent.Remove(m)
		}
		n += x.Qty()
	}
	c.State, c.Load, c.Gone = CartonSealed, "", nil
	l.Cartons = slices.DeleteFunc(l.Cartons, func(code string) bool { return code == d.Carton })
	if p := f.Plans[c.Plan]; p != nil {
		p.Sealed, p.Dispatched = p.Sealed-n, p.Dispatched-n
	}
	return nil
}

func (f *Floor) loadClosed(e *events.Event, d *events.LoadClosed) error {
	l := f.Loads[d.Load]
	if l == nil {
		return unplaced("load", d.Load)
	}
	f.sweep(l)
	f.owe(e.Seq)
	return nil
}

// sweep forgets what has left with a load, and the lots and runs of which
// nothing is left here. Their codes stay taken for ever.
func (f *Floor) sweep(l *Load) {
	for _, code := range l.Cartons {
		for _, x := range f.Cartons[code].Gone {
			for _, m := range x.Marks {
				delete(f.Units, m)
			}
		}
		delete(f.Cartons, code)
		delete(f.lines, code)
		f.Past[code] = true
	}
	delete(f.Loads, l.Load)
	f.Past[l.Load] = true
	f.sweepLots()
	f.sweepSupplies()
	f.dropMatters()
}

// sweepLots forgets lots that came in full and of which every unit has gone for
// good. Diverted units may yet come back; a run that is still open keeps its lot.
func (f *Floor) sweepLots() {
	here := map[string]bool{}
	for k := range f.Ledger.cells {
		if !k.Stage.Gone() || k.Stage == events.Diverted {
			here[k.Lot] = true
		}
	}
	sought := map[string]bool{} // runs whose labels a bench still looks for
	for _, s := range f.Stations {
		sought[s.LastRun] = true
	}
	for _, r := range f.Runs {
		if r.State != RunClosed || sought[r.Run] {
			here[r.Lot], here[r.Bundle] = true, true
		}
	}
	over := func(lot string) bool {
		l := f.Lots[lot]
		return l != nil && !here[lot] && l.Received > 0 && (l.Closed || l.Received >= l.Expected)
	}
	for code, r := range f.Runs {
		made := r.Lot
		if r.Bundle != "" {
			made = r.Bundle
		}
		if over(made) || f.Past[made] { // what it made has gone
			delete(f.Runs, code)
			f.Past[code] = true
		}
	}
	for code := range f.Lots {
		if over(code) {
			delete(f.Lots, code)
			delete(f.Totes, code) // where each lot is its own tote
			f.Past[code] = true
			f.Ledger.forget(code)
		}
	}
}
