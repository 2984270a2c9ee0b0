package workflow

import (
	"cmp"
	"maps"
	"slices"

	"packwright/events"
)

// carton gives a carton's record, made at first sight: a plan names it before
// anyone opens it. Only Apply calls it.
func (f *Floor) carton(code string) *Carton {
	c := f.Cartons[code]
	if c == nil {
		c = &Carton{Carton: code, State: CartonPlanned}
		f.Cartons[code] = c
	}
	return c
}

// linesAt are a carton's lines at a revision of its plan.
type linesAt struct {
	plan  string
	rev   int
	lines []events.PlanLine
}

// linesOf lists what the plan in force asks of a carton, in the plan's order:
// one line for each item of an owner. Remembered until the revision changes.
func (f *Floor) linesOf(c *Carton) []events.PlanLine {
	p := f.planOf(c)
	if p == nil {
		return nil
	}
	if at, ok := f.lines[c.Carton]; ok && at.plan == p.Plan && at.rev == p.Rev {
		return at.lines
	}
	var out []events.PlanLine
	for _, l := range p.Lines {
		if l.Carton == c.Carton && l.Q > 0 {
			out = append(out, l)
		}
	}
	f.lines[c.Carton] = linesAt{p.Plan, p.Rev, out}
	return out
}

// planOf gives the plan a carton is on: the one it was opened for, or the first
// that names it. Nil: none in force does.
func (f *Floor) planOf(c *Carton) *Plan {
	if c.Plan != "" {
		return f.Plans[c.Plan]
	}
	for _, code := range slices.Sorted(maps.Keys(f.Plans)) {
		p := f.Plans[code]
		if slices.ContainsFunc(p.Lines, func(l events.PlanLine) bool { return l.Carton == c.Carton }) {
			return p
		}
	}
	return nil
}

// destinationOf gives the limits a carton is under.
func (f *Floor) destinationOf(c *Carton) Destination {
	if p := f.planOf(c); p != nil {
		return f.policy.destination(p.Policy)
	}
	return Destination{}
}

// wanted counts what the plan asks of an item in a carton; 0: it is not on its plan.
func (f *Floor) wanted(c *Carton, item string) (n int) {
	for _, l := range f.linesOf(c) {
		if l.Item == item {
			n += l.Q
		}
	}
	return n
}

// scanned counts the units of an item that scans put into a carton.
func (f *Floor) scanned(c *Carton, item string) (n int) {
	for _, x := range f.Ledger.At(c.Carton) {
		if x.Item == item && x.Stage != events.Unmarked {
			n += x.Qty()
		}
	}
	return n
}

// scannedLines lists what scans put into a carton, sorted by item.
func (f *Floor) scannedLines(c *Carton) (out []events.CountLine) {
	for _, x := range f.Ledger.At(c.Carton) {
		if x.Stage == events.Unmarked {
			continue
		}
		i, found := slices.BinarySearchFunc(out, x.Item, func(a events.CountLine, item string) int { return cmp.Compare(a.Item, item) })
		if found {
			out[i].Q += x.Qty()
		} else {
			out = slices.Insert(out, i, events.CountLine{Item: x.Item, Q: x.Qty()})
		}
	}
	return out
}

// againstPlan says whether scans fall short of the plan, or go beyond it, on any line.
func (f *Floor) againstPlan(c *Carton) (short, over bool) {
	for _, l := range f.linesOf(c) {
		n, want := f.scanned(c, l.Item), f.wanted(c, l.Item)
		short, over = short || n < want, over || n > want
	}
	for _, s := range f.scannedLines(c) {
		over = over || f.wanted(c, s.Item) == 0
	}
	return short, over
}

// evidence gives the numbers of a carton as they stand.
func (f *Floor) evidence(c *Carton) events.Evidence {
	planned, scanned := 0, 0
	for _, l := range f.linesOf(c) {
		planned += l.Q
	}
	for _, l := range f.scannedLines(c) {
		scanned += l.Q
	}
	ev := events.Evidence{Planned: &planned, Scanned: &scanned}
	if c.Count != nil {
		ev.Counted = new(c.Count.Total)
	}
	if w := c.Weight; w != nil {
		ev.Weighed = new(w.Gross)
		if w.SD > 0 {
			ev.Residual = new(w.Gross - w.Expected)
		}
	}
	return ev
}

// belongs finds the carton that still wants an item of an owner ("": any):
// an open one first, then by code. Nil: none does.
func (f *Floor) belongs(item, owner, not string) *Carton {
	var found *Carton
	for _, p := range f.Plans {
		for _, l := range p.Lines {
			c := f.Cartons[l.Carton]
			if l.Item != item || l.Carton == not || owner != "" && l.Owner != owner || c == nil ||
				c.State != CartonOpen && c.State != CartonPlanned || f.scanned(c, item) >= f.wanted(c, item) {
				continue
			}
			if found == nil || sooner(c, found) {
				found = c
			}
		}
	}
	return found
}

func sooner(a, b *Carton) bool {
	if (a.State == CartonOpen) != (b.State == CartonOpen) {
		return a.State == CartonOpen
	}
	return a.Carton < b.Carton
}

// whereabouts names a carton and its bench, when it is open: "C-08 (ST-2)".
func whereabouts(c *Carton) string {
	if c.Bench == "" {
		return c.Carton
	}
	return c.Carton + " (" + c.Bench + ")"
}
