package workflow

import (
	"fmt"

	"packwright/events"
)

func (f *Floor) cartonFinished(e *events.Event, d *events.CartonFinished) error {
	return f.inCarton(d.Carton, func(c *Carton) error {
		c.State = CartonCounting
		if p := f.Plans[c.Plan]; p != nil {
			c.FinishRev = p.Rev
		}
		c.Count, c.Weight, c.Agreed, c.Tries = nil, nil, false, 0
		return nil
	})
}

func (f *Floor) cartonWeighed(e *events.Event, d *events.CartonWeighed) error {
	return f.inCarton(d.Carton, func(c *Carton) error {
		c.Weight = &Weighing{Gross: d.Gross, Expected: d.Expected, SD: d.SD, Alarm: d.Alarm,
			Vouches: d.SD > 0 && d.Miss.Float() < vouches, At: e.Recorded, Seq: e.Seq}
		return nil
	})
}

func (f *Floor) countEntered(e *events.Event, d *events.CountEntered) error {
	return f.inCarton(d.Carton, func(c *Carton) error {
		n := &Count{By: d.By, ByPlacer: d.ByPlacer, Method: d.Method, Lines: d.Lines, Total: d.Total, At: e.Recorded, Seq: e.Seq}
		c.Agreed = c.Count != nil && c.Count.By != n.By && sameCount(c.Count, n)
		c.Count, c.Tries = n, d.Attempt
		if c.First == "" && (d.ByPlacer || !f.fixedOn(c)) {
			c.First, c.FirstAt = d.By, e.Recorded
		}
		f.undoable(e, Undo{Carton: d.Carton})
		return nil
	})
}

// fixedOn says whether a question on a carton is fixed and waits for its
// after-check. Where nobody had counted before, whoever did not place the pieces
// is a second person already.
func (f *Floor) fixedOn(c *Carton) bool {
	m := f.matterOn(c.Carton)
	return m != nil && !m.Fixed.IsZero()
}

// sameCount says whether two counts say the same, as far as both say it.
func sameCount(a, b *Count) bool {
	if len(a.Lines) == 0 || len(b.Lines) == 0 {
		return a.Total == b.Total
	}
	n := map[string]int{}
	for _, l := range a.Lines {
		n[l.Item] += l.Q
	}
	for _, l := range b.Lines {
		n[l.Item] -= l.Q
	}
	for _, q := range n {
		if q != 0 {
			return false
		}
	}
	return true
}

func (f *Floor) countAccepted(e *events.Event, d *events.CountAccepted) error {
	return f.inCarton(d.Carton, func(c *Carton) error {
		if err := c.is(CartonCounting); err != nil {
			return err
		}
		c.State, c.Cert = CartonCounted, &Cert{Rev: d.Rev, Tally: d.Tally, Seq: e.Seq, At: e.Recorded}
		return f.Ledger.moveAll(d.Carton, events.Prepped, events.Counted)
	})
}

// countVoided: without a certificate the carton is to be counted again; one
// that had its certificate is open.
func (f *Floor) countVoided(e *events.Event, d *events.CountVoided) error {
	return f.inCarton(d.Carton, func(c *Carton) error {
		if c.Cert == nil && c.Count == nil {
			return unplaced("a count of", d.Carton)
		}
		if c.Cert != nil {
			c.State = CartonOpen
		}
		c.Cert, c.Count, c.Agreed = nil, nil, false
		return f.Ledger.moveAll(d.Carton, events.Counted, events.Prepped)
	})
}

func (f *Floor) cartonSealed(e *events.Event, d *events.CartonSealed) error {
	return f.inCarton(d.Carton, func(c *Carton) error {
		if err := c.is(CartonCounted); err != nil {
			return err
		}
		c.State, c.Seal, c.Code = CartonSealed, d.Seal, d.Code
		f.Seals[d.Seal] = d.Carton
		if d.Code != "" {
			f.SSCCs[d.Code] = d.Carton
		}
		return f.Ledger.moveAll(d.Carton, events.Counted, events.Sealed)
	})
}

func (f *Floor) cartonReopened(e *events.Event, d *events.CartonReopened) error {
	return f.inCarton(d.Carton, func(c *Carton) error {
		if err := c.is(CartonSealed); err != nil {
			return err
		}
		c.changed(e)
		c.Seal = ""
		return f.Ledger.moveAll(d.Carton, events.Sealed, events.Prepped)
	})
}

func (f *Floor) scaleChecked(e *events.Event, d *events.ScaleChecked) error {
	f.Scales[d.Scale] = &Scale{Checked: e.Recorded, OK: d.OK, Ref: e.Seq.String()}
	return nil
}

// is wants a carton in a state: what moves all that lies in it has to know from where.
func (c *Carton) is(s CartonState) error {
	if c.State != s {
		return fmt.Errorf("%w: carton %s is %s, not %s", events.ErrCorrupt, c.Carton, c.State, s)
	}
	return nil
}

// inCarton changes a carton that must be there.
func (f *Floor) inCarton(code string, change func(*Carton) error) error {
	c := f.Cartons[code]
	if c == nil {
		return unplaced("carton", code)
	}
	return change(c)
}
