package plain

import (
	"fmt"
	"maps"

	"packwright/events"
)

// scanned counts what scans put into a carton, by item.
func (m *Model) scanned(code string) map[string]int {
	n := map[string]int{}
	for i := range m.Units {
		if m.Units[i].Place == code {
			n[m.Units[i].Item]++
		}
	}
	return n
}

// planned counts what the plan wants in a carton, by item.
func (m *Model) planned(c *carton, code string) map[string]int {
	n := map[string]int{}
	if p := m.plans[c.plan]; p != nil {
		for k, q := range p.lines {
			if k.carton == code && q > 0 {
				n[k.item] += q
			}
		}
	}
	return n
}

func (t *telling) finishCarton() error {
	c, err := t.inHand()
	if err != nil {
		return err
	}
	t.touched(c)
	c.state = "counting"
	return nil
}

func (t *telling) enterCount() error {
	c := t.cartons[t.ask.Carton]
	if c == nil || c.state != "counting" {
		return fmt.Errorf("%s was counted while %+v", t.ask.Carton, c)
	}
	n := &count{}
	if t.Total != nil {
		n.total = *t.Total
	}
	if len(t.Lines) > 0 {
		n.lines, n.total = map[string]int{}, 0
		for _, l := range t.Lines {
			n.total += l.Q
			if l.Q != 0 {
				n.lines[l.Item] += l.Q
			}
		}
	}
	c.count = n
	return nil
}

// acceptCount: what is planned, scanned and counted must be the same.
func (t *telling) acceptCount() error {
	c := t.cartons[t.ask.Carton]
	if c == nil || c.state != "counting" {
		return fmt.Errorf("a count of %s was accepted while %+v", t.ask.Carton, c)
	}
	scanned, planned := t.scanned(t.ask.Carton), t.planned(c, t.ask.Carton)
	if !maps.Equal(scanned, planned) {
		return fmt.Errorf("accepted with scans %v and plan %v", scanned, planned)
	}
	sum := 0
	for _, n := range scanned {
		sum += n
	}
	if n := c.count; n != nil && (n.total != sum || n.lines != nil && !maps.Equal(n.lines, scanned)) {
		return fmt.Errorf("accepted with a count of %+v and scans %v", *n, scanned)
	}
	if m := t.Count(func(u *Unit) bool { return u.Place == t.ask.Carton && u.Stage != events.Prepped }); m > 0 {
		return fmt.Errorf("accepted with %d units that are not prepped", m)
	}
	t.all(t.ask.Carton, events.Prepped, events.Counted)
	c.state = "counted"
	return nil
}

// seal wants a live certificate and a number never used.
func (t *telling) seal() error {
	c := t.cartons[t.ask.Carton]
	if c == nil || c.state != "counted" {
		return fmt.Errorf("%s was sealed while %+v", t.ask.Carton, c)
	}
	if t.seals[t.ask.Seal] {
		return fmt.Errorf("seal %s was used before", t.ask.Seal)
	}
	if scanned, planned := t.scanned(t.ask.Carton), t.planned(c, t.ask.Carton); !maps.Equal(scanned, planned) {
		return fmt.Errorf("sealed with scans %v and plan %v", scanned, planned)
	}
	t.seals[t.ask.Seal] = true
	t.all(t.ask.Carton, events.Counted, events.Sealed)
	c.state, c.seal = "sealed", t.ask.Seal
	return nil
}

func (t *telling) reopen() error {
	c := t.cartons[t.ask.Carton]
	if c == nil || c.state != "sealed" {
		return fmt.Errorf("%s was reopened while %+v", t.ask.Carton, c)
	}
	t.all(t.ask.Carton, events.Sealed, events.Prepped)
	c.state, c.seal, c.count = "open", "", nil
	return nil
}

func (t *telling) dispatch() error {
	if t.Told.Code == "E-DSP-01" {
		return nil // a seal that was not the one on record: kept, and nothing moved
	}
	c := t.cartons[t.ask.Carton]
	if c == nil || c.state != "sealed" || c.seal != t.Seen {
		return fmt.Errorf("%s left while %+v", t.ask.Carton, c)
	}
	for i := range t.Units {
		u := &t.Units[i]
		if u.Place != t.ask.Carton {
			continue
		}
		if u.Stage != events.Sealed {
			return fmt.Errorf("a unit at stage %s left", u.Stage)
		}
		u.left = &exit{carton: u.Place, mark: u.Mark}
		gone([]*Unit{u}, events.Dispatched)
	}
	c.state, c.load = "dispatched", t.Load
	return nil
}

func (t *telling) cancelDispatch() error {
	c := t.cartons[t.ask.Carton]
	if c == nil || c.state != "dispatched" {
		return fmt.Errorf("%s came back while %+v", t.ask.Carton, c)
	}
	for i := range t.Units {
		if u := &t.Units[i]; u.left != nil && u.left.carton == t.ask.Carton {
			u.Stage, u.Place, u.Mark, u.left = events.Sealed, u.left.carton, u.left.mark, nil
		}
	}
	c.state, c.load = "sealed", ""
	return nil
}

// closeLoad: what left does not come back.
func (t *telling) closeLoad() error {
	for code, c := range t.cartons {
		if c.state != "dispatched" || c.load != t.Load {
			continue
		}
		c.state = "over"
		for i := range t.Units {
			if u := &t.Units[i]; u.left != nil && u.left.carton == code {
				u.left = nil
			}
		}
	}
	for name, l := range t.lots {
		l.over = l.over || t.allGone(name)
	}
	return nil
}

// allGone says whether all units of a lot have left for good, and no run works on it.
func (m *Model) allGone(lot string) bool {
	for _, r := range m.runs {
		if !r.shut && (r.lot == lot || r.sets == lot) {
			return false
		}
	}
	n := m.Count(func(u *Unit) bool { return u.Lot == lot })
	return n > 0 && n == m.Count(func(u *Unit) bool { return u.Lot == lot && u.Stage.Gone() && u.Stage != events.Diverted })
}

// takeBack undoes the action named, or the last one of this session.
func (t *telling) takeBack() error {
	list := t.recent[t.Station]
	for i := len(list) - 1; i >= 0; i-- {
		d := list[i]
		if d == t.done || d.session != t.done.session || d.taken || d.told.Type == "take-back" || !t.ask.Seq.IsZero() && d.told.Seq != t.ask.Seq {
			continue
		}
		d.taken = true
		return t.undo(d)
	}
	return fmt.Errorf("nothing was there to take back")
}

func (t *telling) undo(d *done) error {
	if len(d.moves) > 0 || d.told.Type == "enter-count" {
		var was telling
		if err := jsonInto(d.told.Data, &was.ask); err != nil {
			return err
		}
		t.ask.Carton = was.ask.Carton
		c, err := t.inHand()
		if err != nil {
			return err
		}
		if d.told.Type == "enter-count" {
			c.count = nil
			return nil
		}
		t.touched(c)
	}
	for i := len(d.moves) - 1; i >= 0; i-- {
		mv := d.moves[i]
		units, err := t.take(mv.q, mv.marks, at(mv.lot, events.Prepped, mv.to))
		if err != nil {
			return err
		}
		for _, u := range units {
			u.Place = mv.from
		}
	}
	return nil
}
