package workflow

import (
	"fmt"
	"slices"

	"packwright/events"
)

// line gives the quantity of a line, 0 when there is none.
func (p *Plan) line(k lineKey) int {
	for _, l := range p.Lines {
		if keyOf(l) == k {
			return l.Q
		}
	}
	return 0
}

// ownerOf gives the owner of an item's line in a carton, else of the carton's
// other lines, when they tell but one.
func (p *Plan) ownerOf(carton, item string) string {
	var byItem, byCarton []string
	for _, l := range p.Lines {
		if l.Carton != carton {
			continue
		}
		byCarton = append(byCarton, l.Owner)
		if l.Item == item {
			byItem = append(byItem, l.Owner)
		}
	}
	for _, found := range [][]string{byItem, byCarton} {
		slices.Sort(found)
		if found = slices.Compact(found); len(found) == 1 {
			return found[0]
		}
	}
	return ""
}

// eachChange makes a gate of a test of one change.
func eachChange(test func(*decision, *proposeAsk, *events.PlanChange) *Refusal) func(*decision, *proposeAsk) *Refusal {
	return func(d *decision, in *proposeAsk) *Refusal {
		for i := range in.Changes {
			if no := test(d, in, &in.Changes[i]); no != nil {
				return no
			}
		}
		return nil
	}
}

// ofPlan refuses a carton that is another plan's, is over, or whose number names something else.
func (d *decision) ofPlan(p *Plan, carton string) *Refusal {
	c := d.f.Cartons[carton]
	if c == nil && d.f.named(carton) || c != nil && (c.Plan != p.Plan || c.State == CartonVoid) {
		return refuse("E-PLN-08", carton)
	}
	return nil
}

// notFrozen refuses changes of cartons that are sealed or have left.
func (d *decision) notFrozen(changes []events.PlanChange) *Refusal {
	for _, ch := range changes {
		c := d.f.Cartons[ch.Carton]
		if c != nil && (c.State == CartonSealed || c.State == CartonDispatched) || c == nil && d.f.Past[ch.Carton] {
			d.scope.Carton = ch.Carton
			return refuse("E-PLN-02", ch.Carton)
		}
	}
	return nil
}

// notBelow refuses changes that leave a line below 0.
func (d *decision) notBelow(p *Plan, changes []events.PlanChange) *Refusal {
	for _, l := range p.amended(changes) {
		if l.Q < 0 {
			return refuse("E-PLN-03", l.Q, l.Item)
		}
	}
	return nil
}

// decideApprove keeps the yes; the last one needed amends the plan in the same
// frame, and voids the counts of just those cartons whose lines changed.
func decideApprove(d *decision, in *answerAsk) {
	yes := map[string]string{}
	for o, badge := range in.prop.Approved {
		yes[o] = badge
	}
	for i, v := range in.voices {
		e := &events.PlanChangeApproved{Proposal: in.Proposal, By: d.badge.Badge, Owner: v.owner, Basis: v.basis}
		if i == 0 {
			d.emit(e)
		} else {
			d.follow(e)
		}
		yes[v.owner] = d.badge.Badge
	}
	var by []string
	for _, o := range ownersOf(in.prop.Changes) {
		if yes[o] == "" {
			return
		}
		by = append(by, yes[o])
	}
	slices.Sort(by)
	rev := in.plan.Rev + 1
	d.follow(&events.PlanAmended{Plan: in.plan.Plan, Rev: rev, Proposal: in.Proposal, Changes: in.prop.Changes, Approved: slices.Compact(by)})
	lines := in.plan.amended(in.prop.Changes)
	for _, carton := range touched(in.prop.Changes) {
		d.countAgain(carton, rev, planned(lines, carton), in.prop.Matter)
	}
}

// touched lists the cartons whose lines changes really change, sorted.
func touched(changes []events.PlanChange) (out []string) {
	net := map[lineKey]int{}
	for _, c := range changes {
		net[lineKey{c.Carton, c.Item, c.Owner}] += c.Delta
	}
	for k, delta := range net {
		if delta != 0 {
			out = append(out, k.carton)
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// countAgain voids a carton's count that was made against the lines before, and
// says so as a mismatch, unless the change is itself the way out of one there.
func (d *decision) countAgain(carton string, rev, planned int, matter string) {
	c := d.f.Cartons[carton]
	if c == nil || c.Count == nil && c.Cert == nil {
		return
	}
	d.follow(&events.CountVoided{Carton: carton, Why: fmt.Sprintf("plan changed to r%d", rev)})
	if m := d.f.Matters[matter]; m != nil && m.Resolved.IsZero() && m.touches(carton) {
		return
	}
	scanned := d.f.Ledger.QtyAt(carton)
	ev := events.Evidence{Planned: &planned, Scanned: &scanned}
	if c.Count != nil {
		counted := c.Count.Total
		ev.Counted = &counted
	}
	d.raise(events.PlanChanged, events.Scope{Carton: carton}, ev, true)
	d.calls("E-CNT-05", d.now.Clock()[:5])
}
