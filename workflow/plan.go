package workflow

import (
	"cmp"
	"slices"

	"packwright/events"
	"packwright/prep"
)

type releasePlanAsk struct {
	Plan   string            `json:"plan"`
	Policy string            `json:"destination_policy"` // empty: dest-default
	Lines  []events.PlanLine `json:"lines"`
}

func (in *releasePlanAsk) check() error {
	if !plainWord(in.Plan) {
		return prep.Input("the plan has no number", "name it with letters, digits and hyphens")
	}
	if len(in.Lines) == 0 {
		return prep.Input("the plan has no lines", "give carton, item and quantity on each")
	}
	for _, l := range in.Lines {
		if !plainWord(l.Carton) {
			return prep.Input("a line names no carton", "name cartons with letters, digits and hyphens, as in C-07")
		}
	}
	in.Policy = cmp.Or(in.Policy, "dest-default")
	return nil
}

// planRules say what shall leave, and change it with its owners' yes. The
// owner releases a plan whole; from then on each change of a line is its own owner's.
var planRules = slices.Concat([]rule{
	on(rule{Name: "release", Who: owners, Moves: []Move{{"plan", "", "released"}, {"carton", "", "planned"}}}, []gate[releasePlanAsk]{
		{Gate{"a new plan number", "E-PLN-06", ""}, func(d *decision, in *releasePlanAsk) *Refusal {
			if d.f.Plans[in.Plan] != nil || d.f.named(in.Plan) {
				return refuse("E-PLN-06", in.Plan)
			}
			return nil
		}},
		{Gate{"a destination of the policy", "E-SYS-07", ""}, func(d *decision, in *releasePlanAsk) *Refusal {
			if _, ok := d.f.policy.Destinations[in.Policy]; !ok {
				return refuse("E-SYS-07", "Destination "+in.Policy)
			}
			return nil
		}},
		{Gate{"items of the catalogue", "E-INT-06", ""}, eachLine(func(d *decision, in *releasePlanAsk, l *events.PlanLine) *Refusal {
			return d.listed(l.Item)
		})},
		{Gate{"a quantity over 0 on each line", "E-INT-05", ""}, eachLine(func(d *decision, in *releasePlanAsk, l *events.PlanLine) *Refusal {
			if l.Q < 1 {
				return refuse("E-INT-05", l.Q)
			}
			return nil
		})},
		{Gate{"carton numbers that name nothing else", "E-PLN-08", ""}, eachLine(func(d *decision, in *releasePlanAsk, l *events.PlanLine) *Refusal {
			if d.f.named(l.Carton) {
				return refuse("E-PLN-08", l.Carton)
			}
			return nil
		})},
		{Gate{"each line's owner", "E-PLN-09", ""}, eachLine(func(d *decision, in *releasePlanAsk, l *events.PlanLine) *Refusal {
			if l.Owner = cmp.Or(l.Owner, d.f.Items[l.Item].Owner); l.Owner == "" {
				return refuse("E-PLN-09", l.Item, l.Carton)
			}
			return nil
		})},
		{Gate{"one line for an item of an owner in a carton", "E-PLN-07", ""}, func(d *decision, in *releasePlanAsk) *Refusal {
			if carton, item := twice(in.Lines); carton != "" {
				return refuse("E-PLN-07", carton, item)
			}
			return nil
		}},
		{Gate{"one owner in a carton", "E-PLN-10", ""}, func(d *decision, in *releasePlanAsk) *Refusal {
			return d.oneOwner(in.Policy, in.Lines)
		}},
	}, func(d *decision, in *releasePlanAsk) {
		e := d.emit(&events.PlanReleased{Plan: in.Plan, Rev: 1, Policy: in.Policy, Lines: in.Lines})
		e.PlanRev = 1
	}),
}, changeRules)

// eachLine makes a gate of a test of one line.
func eachLine(test func(*decision, *releasePlanAsk, *events.PlanLine) *Refusal) func(*decision, *releasePlanAsk) *Refusal {
	return func(d *decision, in *releasePlanAsk) *Refusal {
		for i := range in.Lines {
			if no := test(d, in, &in.Lines[i]); no != nil {
				return no
			}
		}
		return nil
	}
}

// listed refuses an item that is not in the catalogue.
func (d *decision) listed(item string) *Refusal {
	if d.f.Items[item] == nil {
		return refuse("E-INT-06", item)
	}
	return nil
}

// lineKey names a line: a plan has one for each.
type lineKey struct{ carton, item, owner string }

func keyOf(l events.PlanLine) lineKey { return lineKey{l.Carton, l.Item, l.Owner} }

// twice finds a line that comes again.
func twice(lines []events.PlanLine) (carton, item string) {
	seen := map[lineKey]bool{}
	for _, l := range lines {
		if seen[keyOf(l)] {
			return l.Carton, l.Item
		}
		seen[keyOf(l)] = true
	}
	return "", ""
}

// oneOwner refuses lines that bring two owners together where the destination forbids it.
func (d *decision) oneOwner(policy string, lines []events.PlanLine) *Refusal {
	if !d.f.policy.destination(policy).OneOwner {
		return nil
	}
	of := map[string]string{}
	for _, l := range lines {
		if other, ok := of[l.Carton]; ok && other != l.Owner {
			return refuse("E-PLN-10", l.Carton)
		}
		of[l.Carton] = l.Owner
	}
	return nil
}

// amended gives a plan's lines after changes, in order, without those that come
// to 0. A line below 0 stays as it is, for the caller to refuse.
func (p *Plan) amended(changes []events.PlanChange) []events.PlanLine {
	lines := slices.Clone(p.Lines)
	for _, c := range changes {
		l := events.PlanLine{Carton: c.Carton, Item: c.Item, Owner: c.Owner}
		i := slices.IndexFunc(lines, func(have events.PlanLine) bool { return keyOf(have) == keyOf(l) })
		if i < 0 {
			i, lines = len(lines), append(lines, l)
		}
		lines[i].Q += c.Delta
	}
	return slices.DeleteFunc(lines, func(l events.PlanLine) bool { return l.Q == 0 })
}

// planned counts the units a plan has for a carton.
func planned(lines []events.PlanLine, carton string) (n int) {
	for _, l := range lines {
		if l.Carton == carton {
			n += l.Q
		}
	}
	return n
}

// planDone says what closing a plan would state when nothing of it is left to
// send once load has left, and nil while something is: a carton with lines or
// goods that is neither on this load nor gone before it. close-load asks it for
// each plan of its cartons, before LoadClosed is applied.
func (f *Floor) planDone(p *Plan, load string) *events.PlanClosed {
	total := 0
	for _, l := range p.Lines {
		total += l.Q
		if c := f.Cartons[l.Carton]; c == nil && !f.Past[l.Carton] || c != nil && !c.leavesWith(load) {
			return nil
		}
	}
	for _, c := range f.Cartons {
		if c.Plan == p.Plan && !c.leavesWith(load) && c.State != CartonVoid && (c.State != CartonPlanned || f.Ledger.QtyAt(c.Carton) > 0) {
			return nil
		}
	}
	return &events.PlanClosed{Plan: p.Plan, Rev: p.Rev, Planned: total, Sealed: p.Sealed, Dispatched: p.Dispatched}
}

// leavesWith says whether a carton is on a load.
func (c *Carton) leavesWith(load string) bool { return c.State == CartonDispatched && c.Load == load }
