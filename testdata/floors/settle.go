package floors

import (
	"slices"

	"packwright/events"
	"packwright/workflow"
)

// settle gives the next lawful step of an open matter, or nil when it has to wait.
func (d *Day) settle(p *person, f *workflow.Floor, m *workflow.Matter) *act {
	if m.TakenBy == "" {
		return d.say(p, "take", "mismatch", m.Matter)
	}
	if m.TakenBy != p.badge {
		return nil
	}
	if d.mind.Percent(5) {
		return d.say(p, "note", "mismatch", m.Matter, "text", "looking")
	}
	for _, s := range m.Scopes {
		if c := f.Cartons[s.Carton]; c != nil {
			if a := d.settleCarton(p, f, m, c); a != nil {
				return a
			}
		}
	}
	for _, s := range m.Scopes {
		if r := f.Runs[s.Run]; r != nil {
			if a := d.settleRun(p, r); a != nil {
				return a
			}
		}
	}
	return d.close(p, f, m)
}

// close says that a matter is fixed, and resolves it in a way that its proof allows.
func (d *Day) close(p *person, f *workflow.Floor, m *workflow.Matter) *act {
	if m.Fixed.IsZero() {
		return d.say(p, "fixed", "mismatch", m.Matter, "actions", []string{"put right"})
	}
	counted := false
	for _, s := range m.Scopes {
		if c := f.Cartons[s.Carton]; c != nil {
			counted = c.Cert != nil
		}
	}
	amended := false
	for _, pl := range f.Plans {
		amended = amended || !pl.Amended.IsZero() && !pl.Amended.Before(m.Raised)
	}
	var ways []events.Resolution
	for _, w := range events.WaysOut(m.Kinds...) {
		switch {
		case w.Check == events.Recount && !counted, w.Check == events.AmendedPlan && !amended, w.Check == events.Leave:
		case w.Name == "send-short": // the owner's
		default:
			ways = append(ways, w)
		}
	}
	if len(ways) == 0 {
		return nil
	}
	w := pick(d.mind, ways)
	return d.say(p, "resolve", "mismatch", m.Matter, "resolution", w.Name, "second", "own", "where_was_it", "found")
}

// settleRun accounts for labels that are missed.
func (d *Day) settleRun(p *person, r *workflow.Run) *act {
	over := r.Marks.Minus(r.UsedMarks).Minus(r.Torn)
	if len(over) == r.LabelsBack || len(over) == 0 {
		return nil
	}
	return d.say(p, "void-mark", "mark", over[0], "reason", "nobody finds it")
}

// settleCarton looks into the carton and puts right what differs; then has it counted by another.
func (d *Day) settleCarton(p *person, f *workflow.Floor, m *workflow.Matter, c *workflow.Carton) *act {
	switch c.State {
	case workflow.CartonDispatched:
		return d.say(p, "cancel-dispatch", "carton", c.Carton, "reason", "a question is open")
	case workflow.CartonSealed:
		return d.say(p, "reopen", "carton", c.Carton, "reason", "a question is open")
	case workflow.CartonPlanned, workflow.CartonVoid:
		return nil
	}
	if c.Bench != workflow.Board {
		return d.say(p, "hand-over-carton", "carton", c.Carton, "to", workflow.Board)
	}
	if m.Fixed.IsZero() {
		return d.putRight(p, f, m, c)
	}
	return d.countAgain(p, f, c)
}

// countAgain takes a carton that was put right to its certificate.
func (d *Day) countAgain(p *person, f *workflow.Floor, c *workflow.Carton) *act {
	switch {
	case c.State == workflow.CartonOpen:
		if len(f.Ledger.At(c.Carton)) == 0 {
			return nil
		}
		return d.say(p, "finish-carton", "carton", c.Carton)
	case c.State == workflow.CartonCounted:
		return nil
	case c.ChangedRev > c.FinishRev:
		return d.say(p, "finish-carton", "carton", c.Carton)
	case c.Weight == nil && d.Policy.Scale, c.Weight != nil && c.Weight.Alarm && d.mind.Percent(40):
		return d.weigh(p, c)
	case c.Weight != nil && c.Weight.Alarm && c.Agreed && d.mind.Percent(60):
		return d.say(p, "override", "scope", kv("carton", c.Carton), "gate", "scale-fault", "reason_code", "scale", "text", "two counts agree", "second", "own")
	case c.Count == nil || c.Count.By == c.First || c.Count.Total != f.Ledger.QtyAt(c.Carton) || c.Weight != nil && c.Weight.Alarm && !c.Agreed:
		if c.First == p.badge || slices.Contains(c.Placers, p.badge) {
			d.another(p, f, c)
			return nil
		}
		return d.count(p, c)
	}
	return d.say(p, "accept-count", "carton", c.Carton)
}

// another sends someone who neither placed nor counted to count a carton where it stands.
func (d *Day) another(p *person, f *workflow.Floor, c *workflow.Carton) {
	for _, q := range d.people {
		if q == p || q.job == "client" || !q.free() || c.First == q.badge || slices.Contains(c.Placers, q.badge) || d.stations[q.here].back > 0 ||
			len(d.stations[q.here].outbox) > 0 {
			continue
		}
		d.visit(q, c.Bench, func(f *workflow.Floor) *act {
			c := f.Cartons[c.Carton]
			if c == nil || c.State != workflow.CartonCounting {
				return nil
			}
			return d.count(q, c)
		})
		return
	}
}

// visit lets a person do something at another station and go home again.
func (d *Day) visit(q *person, station string, do errand) {
	if q.here == station {
		q.send(do)
		return
	}
	q.send(func(*workflow.Floor) *act {
		return d.say(q, "sign-out").then(func(Answer) { q.here = station })
	}, func(f *workflow.Floor) *act {
		if q.here != station {
			return nil
		}
		a := d.say(q, "sign-in")
		if s := f.Stations[station]; s != nil && len(s.Sessions) > 0 && station != workflow.Board {
			a.data["helps"] = s.Sessions[0].Badge
		}
		return a
	}, do, func(*workflow.Floor) *act {
		return d.say(q, "sign-out").then(func(Answer) { q.here = q.home })
	}, func(*workflow.Floor) *act {
		q.here = q.home
		return d.say(q, "sign-in")
	})
}
