package audit

import (
	"fmt"

	"packwright/events"
)

func (f *Fold) cartonFinished(e *events.Event, d *events.CartonFinished) error {
	c, err := f.cartonOf(e, d.Carton)
	if err != nil {
		return err
	}
	if c.State != Open && c.State != Counting {
		return fmt.Errorf("carton %s is %s", d.Carton, c.State)
	}
	c.State, c.Begun = Counting, true
	c.Fin = append(c.Fin, f.fact(e))
	return nil
}

func (f *Fold) cartonWeighed(e *events.Event, d *events.CartonWeighed) error {
	c, err := f.cartonOf(e, d.Carton)
	if err != nil {
		return err
	}
	f.sizes = DefaultScale
	if d.House != nil {
		f.sizes = Scale(*d.House)
	}
	w := weighing{Fact: f.fact(e), Gross: d.Gross, Scale: f.names.id(d.Scale), Stable: d.Stable,
		Said: said{d.Expected, d.SD, d.Z}, Own: f.expect(c)}
	if s := f.scales[d.Scale]; s != nil {
		w.Checked, w.Right = s.Checked.At, s.OK
	}
	c.Weighs = append(c.Weighs, w)
	id, _ := f.cartons.find(d.Carton)
	f.weighed = append(f.weighed, id)
	f.weighedOn(id, c, w.Scale)
	return nil
}

func (f *Fold) countEntered(e *events.Event, d *events.CountEntered) error {
	c, err := f.cartonOf(e, d.Carton)
	if err != nil {
		return err
	}
	c.Begun = true
	c.Counts = append(c.Counts, count{Fact: f.fact(e), By: f.names.id(d.By), ByPlacer: d.ByPlacer, Method: f.names.id(d.Method),
		PWrong: d.PWrong, Lines: f.linesOf(d.Lines), Total: d.Total, Attempt: d.Attempt})
	return nil
}

func (f *Fold) linesOf(list []events.CountLine) []line {
	out := make([]line, len(list))
	for i, l := range list {
		out[i] = line{f.names.id(l.Item), l.Q}
	}
	return out
}

func (f *Fold) countAccepted(e *events.Event, d *events.CountAccepted) error {
	c, err := f.cartonOf(e, d.Carton)
	if err != nil {
		return err
	}
	if f.restage(c.Place, prepped, counted) == 0 {
		return fmt.Errorf("nothing in %s waits for its count", d.Carton)
	}
	c.State, c.Begun = Counted, true
	c.Certs = append(c.Certs, cert{Fact: f.fact(e), Rev: d.Rev, Lines: f.linesOf(d.Lines), By: f.names.id(d.CountBy),
		ByPlacer: d.ByPlacer, Waiver: d.Waiver, Weight: d.Weight})
	id, _ := f.cartons.find(d.Carton)
	f.byPlacer.put(id, d.ByPlacer)
	return nil
}

func (f *Fold) countVoided(e *events.Event, d *events.CountVoided) error {
	c, err := f.cartonOf(e, d.Carton)
	if err != nil {
		return err
	}
	if !c.Begun {
		return fmt.Errorf("carton %s has no count to void", d.Carton)
	}
	f.restage(c.Place, counted, prepped)
	id, _ := f.cartons.find(d.Carton)
	f.endCert(id, c, f.fact(e), d.Why)
	c.Begun, c.Stale = false, len(c.Counts)
	if c.State == Counting || c.State == Counted {
		c.State = Open
	}
	return nil
}

// live gives the certificate in force, or nil.
func (c *carton) live() *cert {
	if n := len(c.Certs); n > 0 && c.Certs[n-1].Voided.Ref == 0 {
		return &c.Certs[n-1]
	}
	return nil
}

// endCert is for a certificate that no longer speaks of its carton.
func (f *Fold) endCert(id cartonID, c *carton, when fact, why string) {
	if cert := c.live(); cert != nil {
		cert.Voided, cert.Why = when, why
		f.byPlacer.put(id, false)
	}
}
