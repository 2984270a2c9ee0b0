package floors

import (
	"maps"
	"slices"

	"packwright/events"
	"packwright/prep"
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

// putRight gives one corrective act, or nil when hands, books and plan agree.
func (d *Day) putRight(p *person, f *workflow.Floor, m *workflow.Matter, c *workflow.Carton) *act {
	if a := d.swapped(p, f, c); a != nil {
		return a
	}
	plan, really := map[string]int{}, d.truth.count(c.Carton)
	items := map[string]bool{}
	for _, l := range lines(f, c) {
		plan[l.Item] += l.Q
		items[l.Item] = true
	}
	for _, x := range f.Ledger.At(c.Carton) {
		items[x.Item] = true
	}
	for item := range really {
		items[item] = true
	}
	for _, item := range slices.Sorted(maps.Keys(items)) {
		if a, wait := d.putItemRight(p, f, c, item, numbers{plan[item], scanned(f, c.Carton, item), really[item]}, m); a != nil || wait {
			return a
		}
	}
	return d.say(p, "fixed", "mismatch", m.Matter, "actions", []string{"looked into " + c.Carton})
}

// numbers are three of the four of an item in a carton.
type numbers struct{ plan, books, really int }

// putItemRight brings books, hands and plan of an item one step nearer. wait: somebody else must act first.
func (d *Day) putItemRight(p *person, f *workflow.Floor, c *workflow.Carton, item string, n numbers, m *workflow.Matter) (a *act, wait bool) {
	switch {
	case n.books > n.plan, n.really < n.books:
		if n.really < n.books && n.books <= n.plan && d.found(c, item) {
			return nil, true // put in by hand: the books had it there all along
		}
		return d.out(p, f, c, item), false
	case n.really > n.books && n.books < n.plan:
		if a := d.bookIn(p, f, c, item); a != nil {
			return a, false
		}
		d.handOut(c, item, p)
		return nil, true
	case n.really > n.books:
		d.handOut(c, item, p)
		return nil, true
	case n.books < n.plan:
		for _, cell := range d.readyCells(f, item) {
			if a := d.putIn(p, f, c, cell, n.plan-n.books); a != nil {
				return a, false
			}
		}
		return d.lessPlan(p, f, c, item, n, m)
	}
	return nil, false
}

// found looks for a piece that the books have in the carton, on benches and in totes.
func (d *Day) found(c *workflow.Carton, item string) bool {
	for _, x := range d.truth.pieces {
		if x.item == item && x.ready && x.where != away && x.where != truck && x.where[:1] != "C" && x.mark == 0 && d.items[item].Trace != prep.TraceBorn {
			x.where = c.Carton
			return true
		}
	}
	return false
}

// out takes a piece out in the books, and by hand when there is one.
func (d *Day) out(p *person, f *workflow.Floor, c *workflow.Carton, item string) *act {
	for _, cell := range f.Ledger.At(c.Carton) {
		if cell.Item != item {
			continue
		}
		words := []any{"carton", c.Carton, "item", item, "lot", cell.Lot, "reason", "does not belong"}
		pieces := d.truth.find(func(x *piece) bool { return x.where == c.Carton && x.item == item && x.mark == 0 })
		switch {
		case len(cell.Marks) > 0:
			mark := cell.Marks[0]
			for _, k := range cell.Marks {
				if x := d.truth.marked(k); x == nil || x.where != c.Carton {
					mark = k // the one that is not there
				}
			}
			words = append(words, "marks", prep.Marks{mark})
			pieces = d.truth.find(func(x *piece) bool { return x.where == c.Carton && x.mark == mark })
		case d.items[item].Trace == prep.TraceBorn:
			words = append(words, "serials", []string{d.serialIn(c, item, pieces)})
		}
		pieces = pieces[:min(1, len(pieces))]
		if scanned(f, c.Carton, item) > len(d.truth.in(c.Carton, item)) {
			pieces = nil
		}
		return d.say(p, "take-out", words...).hands(func() { move(pieces, "A-"+p.here) }, func() { move(pieces, c.Carton) })
	}
	return nil
}

// serialIn gives a maker's serial that the books have in a carton; of a piece that is not there, if any.
func (d *Day) serialIn(c *workflow.Carton, item string, there []*piece) string {
	best := ""
	for _, k := range slices.Sorted(maps.Keys(c.Serials)) {
		s := k[len(item)+1:]
		if k[:len(item)] != item {
			continue
		}
		here := slices.ContainsFunc(there, func(x *piece) bool { return x.serial == s })
		if best == "" || !here {
			best = s
		}
	}
	return best
}

// bookIn scans a piece that lies in the carton without a scan.
func (d *Day) bookIn(p *person, f *workflow.Floor, c *workflow.Carton, item string) *act {
	for _, x := range d.truth.in(c.Carton, item) {
		if x.mark != 0 {
			if cell := f.Ledger.Find(x.mark); cell != nil && cell.Stage == events.Prepped && cell.Place != c.Carton && f.Cartons[cell.Place] == nil {
				return d.say(p, "place", "carton", c.Carton, "marks", prep.Marks{x.mark})
			}
			continue
		}
		for _, cell := range d.readyCells(f, item) {
			if cell.N == 0 || cell.Lot != x.lot || c.Serials[item+"/"+x.serial] {
				continue
			}
			words := []any{"carton", c.Carton, "item", item, "from", cell.Place, "lot", cell.Lot}
			if d.items[item].Trace == prep.TraceBorn {
				words = append(words, "serials", []string{x.serial})
			}
			return d.say(p, "place", words...)
		}
	}
	return nil
}

// handOut takes a piece out by hand that the books do not have there.
func (d *Day) handOut(c *workflow.Carton, item string, p *person) {
	if in := d.truth.in(c.Carton, item); len(in) > 0 {
		in[len(in)-1].where = "A-" + p.here
	}
}

// lessPlan proposes that the plan wants no more than is there, and waits for the answer.
func (d *Day) lessPlan(p *person, f *workflow.Floor, c *workflow.Carton, item string, n numbers, m *workflow.Matter) (*act, bool) {
	for _, pr := range f.Proposals {
		if pr.Answered.IsZero() && slices.ContainsFunc(pr.Changes, func(ch events.PlanChange) bool { return ch.Carton == c.Carton && ch.Item == item }) {
			return nil, true
		}
	}
	if d.round < d.rounds/2 && d.mind.Percent(70) {
		return nil, true // some may still come
	}
	return d.say(p, "propose", "plan", c.Plan, "reason", "no more of them", "changes",
		[]map[string]any{kv("carton", c.Carton, "item", item, "delta", n.books-n.plan)}).of(m.Matter), false
}

// swapped finds a label on a box of another item, and has it cancelled and printed anew.
func (d *Day) swapped(p *person, f *workflow.Floor, c *workflow.Carton) *act {
	for _, cell := range f.Ledger.At(c.Carton) {
		for _, k := range cell.Marks {
			if x := d.truth.marked(k); x != nil && x.item != cell.Item && x.where == c.Carton {
				return d.say(p, "take-out", "carton", c.Carton, "marks", prep.Marks{k}, "reason", "wrong label").
					hands(func() { x.where = "A-" + p.here }, func() { x.where = c.Carton })
			}
		}
	}
	return nil
}
