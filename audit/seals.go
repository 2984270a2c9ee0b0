package audit

import (
	"fmt"
	"slices"

	"packwright/events"
	"packwright/prep"
)

// load is what one truck takes.
type load struct {
	Due     stamp
	Opened  fact
	Closed  fact
	Cartons []cartonID
	Left    []string // behind
}

// closed gives the seal that is on the carton now, or nil.
func (c *carton) closed() *seal {
	if n := len(c.Seals); n > 0 && c.Seals[n-1].Broken.Ref == 0 {
		return &c.Seals[n-1]
	}
	return nil
}

// sent gives how the carton left, or nil while it is here.
func (c *carton) sent() *send {
	if n := len(c.Sends); n > 0 && c.Sends[n-1].Back.Ref == 0 {
		return &c.Sends[n-1]
	}
	return nil
}

func (f *Fold) cartonSealed(e *events.Event, d *events.CartonSealed) error {
	c, err := f.cartonOf(e, d.Carton)
	if err != nil {
		return err
	}
	if f.restage(c.Place, counted, sealed) == 0 {
		return fmt.Errorf("nothing in %s is counted", d.Carton)
	}
	c.State = Sealed
	c.Seals = append(c.Seals, seal{Number: d.Seal, Code: d.Code, Gross: d.Gross, Fact: f.fact(e)})
	if n := len(c.Fin); n > 0 && len(c.Matters) == 0 {
		f.paces.closed(c.Seals[len(c.Seals)-1].Fact.At.since(c.Fin[n-1].At))
	}
	return nil
}

func (f *Fold) cartonReopened(e *events.Event, d *events.CartonReopened) error {
	c, err := f.cartonOf(e, d.Carton)
	if err != nil {
		return err
	}
	s := c.closed()
	if s == nil || f.restage(c.Place, sealed, prepped) == 0 {
		return fmt.Errorf("carton %s is not sealed", d.Carton)
	}
	s.Broken, s.Why = f.fact(e), d.Reason
	id, _ := f.cartons.find(d.Carton)
	f.reopened.put(id, true)
	f.endCert(id, c, s.Broken, "seal broken: "+d.Reason)
	c.State, c.Begun, c.Stale = Open, false, len(c.Counts)
	return nil
}

func (f *Fold) cartonVoided(e *events.Event, d *events.CartonVoided) error {
	c, err := f.cartonOf(e, d.Carton)
	if err != nil {
		return err
	}
	if p := f.places.row(c.Place); len(p.Heaps) > 0 || len(p.Marks) > 0 {
		return fmt.Errorf("carton %s is not empty", d.Carton)
	}
	c.State = Void
	id, _ := f.cartons.find(d.Carton)
	f.countBox(id, nil, -1)
	return nil
}

func (f *Fold) cartonHandedOver(e *events.Event, d *events.CartonHandedOver) error {
	c, err := f.cartonOf(e, d.Carton)
	if err != nil {
		return err
	}
	c.Bench = f.names.id(d.To)
	c.Hands = append(c.Hands, hand{f.names.id(d.From), c.Bench, f.fact(e)})
	return nil
}

func (f *Fold) loadOpened(e *events.Event, d *events.LoadOpened) error {
	if _, ok := f.loads.find(d.Load); ok {
		return fmt.Errorf("load %s was opened before", d.Load)
	}
	*f.loads.change(f.loads.id(d.Load)) = load{Due: stampOf(d.Due), Opened: f.fact(e)}
	return nil
}

func (f *Fold) cartonDispatched(e *events.Event, d *events.CartonDispatched) error {
	c, err := f.cartonOf(e, d.Carton)
	if err != nil {
		return err
	}
	ld := f.loads.changeOf(d.Load)
	if ld == nil {
		return fmt.Errorf("there is no load %q", d.Load)
	}
	if c.Kept = f.ship(c, stampOf(e.At)); c.Kept == nil {
		return fmt.Errorf("nothing in %s is sealed", d.Carton)
	}
	c.State = Dispatched
	c.Sends = append(c.Sends, send{Load: d.Load, Seen: d.Seal, Fact: f.fact(e)})
	id, _ := f.cartons.find(d.Carton)
	ld.Cartons = append(ld.Cartons, id)
	f.sent(id, c.Kept)
	f.left = append(f.left, departure{stampOf(e.At), id, int32(c.Kept.units())})
	return nil
}

// ship moves all sealed units of a carton to dispatched and gives what they were.
func (f *Fold) ship(c *carton, at stamp) *kept {
	p, k := f.places.change(c.Place), &kept{}
	for i := 0; i < len(p.Heaps); {
		h := p.Heaps[i]
		if h.Stage != sealed {
			i++
			continue
		}
		f.enter(f.hashOf(&p.Heaps[i], c.Place), h.Lot, sealed, -h.N)
		f.kinHeap(&h, -h.N)
		k.Heaps = append(k.Heaps, h)
		p.Heaps = slices.Delete(p.Heaps, i, i+1)
		h.Stage, h.First, h.Last = dispatched, at, at
		f.bury(h)
	}
	f.stirred(c.Place)
	var gone []prep.Mark
	for _, m := range slices.Sorted(slices.Values(p.Marks)) {
		u := f.unit(m)
		if u.Stage != sealed {
			continue
		}
		if err := f.takeMark(m, c.Place, u.Lot, sealed); err != nil {
			return nil
		}
		u.Stage = dispatched
		f.kinMark(m, u, 1)
		f.bury(heap{Lot: u.Lot, Stage: dispatched, N: 1, Marked: true, First: at, Last: at})
		gone = append(gone, m)
	}
	if len(k.Heaps) == 0 && len(gone) == 0 {
		return nil
	}
	if len(p.Heaps) == 0 && len(p.Marks) == 0 {
		p.Heaps, p.Marks = nil, nil // their room is not needed again
	}
	k.Marks = prep.Marks(gone).Runs()
	return k
}

// dispatchCancelled is the inverse of cartonDispatched.
func (f *Fold) dispatchCancelled(e *events.Event, d *events.DispatchCancelled) error {
	c, err := f.cartonOf(e, d.Carton)
	if err != nil {
		return err
	}
	s := c.sent()
	if s == nil || c.Kept == nil || s.Load != d.Load {
		return fmt.Errorf("carton %s is not on load %s", d.Carton, d.Load)
	}
	for _, h := range c.Kept.Heaps {
		if _, err := f.raise(h.Lot, dispatched, h.N, &h); err != nil {
			return err
		}
		f.put(c.Place, h)
	}
	for _, m := range prep.FromRuns(c.Kept.Marks) {
		u := f.unit(m)
		if _, err := f.raise(u.Lot, dispatched, 1, &heap{Marked: true}); err != nil {
			return err
		}
		f.kinMark(m, u, -1)
		f.putMark(m, c.Place, u.Lot, sealed)
	}
	id, _ := f.cartons.find(d.Carton)
	f.back(id, c.Kept)
	c.State, c.Kept = Sealed, nil
	f.cameBack(d.Carton)
	s.Back, s.Reason = f.fact(e), d.Reason
	if ld := f.loads.changeOf(d.Load); ld != nil {
		ld.Cartons = slices.DeleteFunc(ld.Cartons, func(o cartonID) bool { return o == id })
	}
	return nil
}

// departure is a carton that left, and with how many units.
type departure struct {
	At     stamp
	Carton cartonID
	N      int32 // 0: it came back
}

// cameBack takes a carton's last departure back.
func (f *Fold) cameBack(key string) {
	id, _ := f.cartons.find(key)
	for i := len(f.left) - 1; i >= 0; i-- {
		if f.left[i].Carton == id {
			f.left[i].N = 0
			return
		}
	}
}

func (k *kept) units() int {
	n := len(prep.FromRuns(k.Marks))
	for _, h := range k.Heaps {
		n += h.N
	}
	return n
}

func (f *Fold) loadClosed(e *events.Event, d *events.LoadClosed) error {
	ld := f.loads.changeOf(d.Load)
	if ld == nil {
		return fmt.Errorf("there is no load %q", d.Load)
	}
	ld.Closed, ld.Left = f.fact(e), d.Left
	return nil
}
