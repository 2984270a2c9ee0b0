package floors

import (
	"maps"
	"slices"

	"packwright/events"
	"packwright/prep"
	"packwright/workflow"
)

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
