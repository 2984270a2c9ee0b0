package audit

import (
	"slices"

	"packwright/events"
	"packwright/prep"
)

// remember keeps what later events are judged by.
func (l *Laws) remember(e *events.Event) {
	l.recorded = events.Max(l.recorded, e.Recorded)
	// a refused scan is no kept command: the same one may be kept, or refused, later
	if key, n, ok := splitCause(e.Cause); ok && !l.ofFrame[e.Cause] && e.Type() != "scan.refused" {
		l.ofFrame[e.Cause] = true
		if ep := l.kept[key]; ep != nil {
			ep.add(n)
		} else {
			l.kept[key] = &epoch{Spans: []numbers{{n, n}}}
		}
	}
	l.rememberGoods(e)
	l.rememberCarton(e)
	l.rememberSeal(e)
	l.rememberMatter(e)
	l.supply.remember(e)
	l.rememberClaim(e)
	l.rememberHead(e)
}

func (l *Laws) rememberGoods(e *events.Event) {
	for _, p := range lotItems(e) {
		if _, ok := l.items[p[0]]; !ok {
			l.items[p[0]] = p[1]
		}
	}
	for _, m := range labelled(e) {
		if l.marks.life(m) == markNew {
			l.marks.now(m, markUsed, "")
		}
	}
	for _, m := range ended(e) {
		l.marks.now(m, markGone, "")
	}
	switch d := e.Data.(type) {
	case *events.LotAnnounced:
		l.owners[d.Lot] = d.Owner
	case *events.BundleBuilt:
		l.owners[d.Lot] = d.Owner
	case *events.RunOpened:
		l.runs[d.Run] = true
	case *events.RunClosed:
		delete(l.runs, d.Run)
	case *events.OverrideGranted:
		l.overrides[d.Override] = true
	case *events.MarkVoided:
		if carton := l.marks.lies[d.Mark]; carton != "" {
			c := l.boxOf(carton)
			c.tally = more(c.tally, d.Item, -1)
			delete(c.marks, d.Mark)
		}
		l.marks.now(d.Mark, markVoid, "")
	case *events.PlanReleased:
		for _, line := range d.Lines {
			c := l.boxOf(line.Carton)
			c.plan = more(c.plan, line.Item, line.Q)
		}
	case *events.PlanAmended:
		for _, change := range d.Changes {
			c := l.boxOf(change.Carton)
			c.plan = more(c.plan, change.Item, change.Delta)
		}
	case *events.UnitsHeld:
		if d.Hazard {
			l.hazards[d.Hold] = true
		}
	}
}

// boxOf gives a carton to be changed.
func (l *Laws) boxOf(key string) *boxed {
	c := l.cartons[key]
	switch {
	case c == nil:
		c = &boxed{counted: -1}
		l.cartons[key] = c
	case c.left: // unlawful, and told so; from here it is of its own
		own := *c
		own.left = false
		c = &own
		l.cartons[key] = c
	}
	return c
}

// more counts n of an item to those there are.
func more(list map[string]int, item string, n int) map[string]int {
	if list == nil {
		list = map[string]int{}
	}
	list[item] += n
	return list
}

func (l *Laws) rememberCarton(e *events.Event) {
	switch d := e.Data.(type) {
	case *events.CartonOpened:
		l.boxOf(d.Carton)
	case *events.UnitPlaced:
		c := l.boxOf(d.Carton)
		c.tally = more(c.tally, d.Item, d.Q)
		if c.owner == "" {
			c.owner = l.owners[d.Lot]
		}
		for _, m := range d.Marks {
			l.marks.now(m, markUsed, d.Carton)
			if c.marks == nil {
				c.marks = map[prep.Mark]bool{}
			}
			c.marks[m] = true
		}
	case *events.UnitTakenOut:
		c := l.boxOf(d.Carton)
		if c.tally = more(c.tally, d.Item, -d.Q); c.empty() {
			c.owner = ""
		}
		for _, m := range d.Marks {
			l.marks.now(m, markUsed, "")
			delete(c.marks, m)
		}
	case *events.CartonFinished:
		c := l.boxOf(d.Carton)
		c.counted, c.weighed = -1, false
	case *events.CartonWeighed:
		l.boxOf(d.Carton).weighed = true
	case *events.CountEntered:
		l.boxOf(d.Carton).counted = d.Total
	case *events.CountAccepted:
		c := l.boxOf(d.Carton)
		c.cert, c.accepted = true, e.Seq
	case *events.CountVoided:
		l.boxOf(d.Carton).cert = false
	}
}

func (c *boxed) empty() bool {
	for _, n := range c.tally {
		if n != 0 {
			return false
		}
	}
	return true
}

func (l *Laws) rememberSeal(e *events.Event) {
	switch d := e.Data.(type) {
	case *events.CartonSealed:
		l.boxOf(d.Carton).seal = d.Seal
		l.seals[d.Seal] = d.Carton
	case *events.CartonReopened:
		c := l.boxOf(d.Carton)
		c.seal, c.cert = "", false
	case *events.CartonDispatched:
		c := l.boxOf(d.Carton)
		c.sent = d.Load
		l.loads[d.Load] = append(l.loads[d.Load], d.Carton)
		for m := range c.marks {
			l.marks.now(m, markGone, d.Carton)
		}
	case *events.DispatchCancelled:
		c := l.boxOf(d.Carton)
		c.sent = ""
		for m := range c.marks {
			l.marks.now(m, markUsed, d.Carton)
		}
	case *events.LoadClosed:
		l.closed[d.Load] = true
		gone := &boxed{left: true, sent: d.Load, counted: -1}
		for _, key := range l.loads[d.Load] {
			if c := l.cartons[key]; c.sent == d.Load && !c.left {
				for m := range c.marks {
					l.marks.now(m, markGone, "")
				}
				l.cartons[key] = gone
			}
		}
		delete(l.loads, d.Load)
	}
}

func (l *Laws) rememberMatter(e *events.Event) {
	switch d := e.Data.(type) {
	case *events.MismatchRaised:
		l.matters[d.Mismatch] = &inQuestion{blocks: d.Blocks, state: "open", raised: e.Seq}
		l.sign(d.Mismatch, d.Kind, d.Scope)
	case *events.MismatchSymptomAdded:
		l.sign(d.Mismatch, d.Kind, d.Scope)
		if m := l.matters[d.Mismatch]; m != nil && m.state == "fixed" {
			m.state, m.fixed = "open", events.Seq{}
		}
	case *events.MismatchFixed:
		if m := l.matters[d.Mismatch]; m != nil {
			m.state, m.fixed = "fixed", e.Seq
		}
	case *events.MismatchResolved:
		if m := l.matters[d.Mismatch]; m != nil {
			m.state = "resolved"
		}
	case *events.MismatchReopened:
		if m := l.matters[d.Mismatch]; m != nil {
			m.state, m.fixed, m.raised = "open", events.Seq{}, e.Seq
		}
	}
}

// sign ties a matter to a kind and a carton.
func (l *Laws) sign(key string, kind events.Kind, scope events.Scope) {
	m := l.matters[key]
	if m == nil {
		return
	}
	if !slices.Contains(m.kinds, kind) {
		m.kinds = append(m.kinds, kind)
	}
	if scope.Carton == "" || slices.Contains(m.cartons, scope.Carton) {
		return
	}
	m.cartons = append(m.cartons, scope.Carton)
	c := l.boxOf(scope.Carton)
	c.matters = append(c.matters, key)
}
