package plain

import (
	"cmp"
	"fmt"
	"slices"

	"packwright/events"
)

func (t *telling) releasePlan() error {
	p := &plan{lines: map[planKey]int{}}
	for _, l := range t.Lines {
		p.lines[planKey{l.Carton, l.Item, cmp.Or(l.Owner, t.items[l.Item].Owner)}] += l.Q
	}
	t.plans[t.Plan] = p
	return nil
}

// ownerOf is whose a line is when nobody said so: the item's line in that
// carton, the carton's other lines, the item's owner.
func (t *telling) ownerOf(p *plan, l planLine) string {
	var byItem, byCarton []string
	for k, q := range p.lines {
		if k.carton != l.Carton || q == 0 {
			continue
		}
		byCarton = append(byCarton, k.owner)
		if k.item == l.Item {
			byItem = append(byItem, k.owner)
		}
	}
	for _, list := range [][]string{byItem, byCarton} {
		slices.Sort(list)
		if list = slices.Compact(list); len(list) == 1 {
			return list[0]
		}
	}
	return t.items[l.Item].Owner
}

func (t *telling) propose() error {
	p := t.plans[t.Plan]
	if p == nil {
		return fmt.Errorf("plan %s is not in force", t.Plan)
	}
	t.nextProp++
	c := &change{plan: t.Plan, delta: map[planKey]int{}, yes: map[string]bool{}}
	for _, l := range t.Change {
		c.delta[planKey{l.Carton, l.Item, cmp.Or(l.Owner, t.ownerOf(p, l))}] += l.Delta
	}
	t.changes[fmt.Sprintf("PC-%02d", t.nextProp)] = c
	return nil
}

func (t *telling) decline() error {
	if c := t.changes[t.Prop]; c != nil {
		c.over = true
	}
	return nil
}

// approve is one badge's yes for every owner it may speak for; the last one
// needed puts the change in force and ends the counts of the cartons it touches.
func (t *telling) approve() error {
	c := t.changes[t.Prop]
	if c == nil || c.over {
		return fmt.Errorf("%s is not waiting for an answer", t.Prop)
	}
	p := t.plans[c.plan]
	all := true
	for k := range c.delta {
		if (t.Owner == "" || t.Owner == k.owner) && t.speaks(p, c, k.owner) {
			c.yes[k.owner] = true
		}
	}
	for k := range c.delta {
		all = all && c.yes[k.owner]
	}
	if !all {
		return nil
	}
	c.over = true
	for k, d := range c.delta {
		if d == 0 {
			continue
		}
		if p.lines[k] += d; p.lines[k] < 0 {
			return fmt.Errorf("a line of %s came to %d", k.carton, p.lines[k])
		}
		box := t.cartons[k.carton]
		if box == nil {
			continue
		}
		if box.state == "sealed" || box.state == "dispatched" || box.state == "over" {
			return fmt.Errorf("the plan of %s changed, which is %s", k.carton, box.state)
		}
		if box.state == "counted" {
			box.state = "open"
		}
		box.count = nil
		t.all(k.carton, events.Counted, events.Prepped)
	}
	return nil
}

// speaks: a client for own goods, the owner where there is no client, a
// supervisor within what is delegated.
func (t *telling) speaks(p *plan, c *change, owner string) bool {
	b := t.badges[t.Told.Badge]
	client := false
	for _, x := range t.badges {
		client = client || x.ownerOf == owner && slices.Contains(x.roles, events.Client)
	}
	switch {
	case b.ownerOf == owner && slices.Contains(b.roles, events.Client):
		return true
	case slices.Contains(b.roles, events.Owner) && !client:
		return true
	case !slices.Contains(b.roles, events.Supervisor):
		return false
	}
	leave, ok := t.house.Delegated[owner]
	for k, d := range c.delta {
		if k.owner == owner && max(d, -d) > min(leave.Units, p.lines[k]*leave.Percent/100) {
			ok = false
		}
	}
	return ok
}
