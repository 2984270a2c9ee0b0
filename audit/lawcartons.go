package audit

import (
	"fmt"
	"slices"

	"packwright/events"
	"packwright/prep"
)

// cartonLaws are about cartons, counts, seals, loads and matters.
var cartonLaws = []Law{
	{"nothing moves after acceptance", "no unit enters or leaves a carton while its count is in force, or it is sealed or gone",
		func(l *Laws, e *events.Event, _ *Fold) string {
			c := l.cartons[touchedCarton(l, e)]
			switch {
			case c == nil:
			case c.sent != "":
				return fmt.Sprintf("the carton has left on %s", c.sent)
			case c.seal != "":
				return fmt.Sprintf("the carton is sealed with %s", c.seal)
			case c.cert:
				return "the carton's count is accepted"
			}
			return ""
		}},
	{"two owners never share a carton", "all units in a carton belong to one owner",
		func(l *Laws, e *events.Event, _ *Fold) string {
			d, ok := e.Data.(*events.UnitPlaced)
			if !ok || l.cartons[d.Carton] == nil {
				return ""
			}
			has, owner := l.cartons[d.Carton].owner, l.owners[d.Lot]
			if has != "" && owner != "" && has != owner {
				return fmt.Sprintf("goods of %s go to goods of %s in %s", owner, has, d.Carton)
			}
			return ""
		}},
	{"a count is accepted on evidence", "a certificate rests on a count, or on a weight and a rule that waives the count",
		func(l *Laws, e *events.Event, _ *Fold) string {
			d, ok := e.Data.(*events.CountAccepted)
			if !ok || l.cartons[d.Carton] == nil {
				return ""
			}
			c := l.cartons[d.Carton]
			switch sum := sumOf(d.Lines); {
			case d.Waiver != "" && (d.Weight == "" || !c.weighed):
				return "neither counted nor weighed"
			case d.Waiver == "" && c.counted < 0:
				return "nobody has counted since it was finished"
			case d.Waiver == "" && c.counted != sum:
				return fmt.Sprintf("%d were counted, %d are certified", c.counted, sum)
			}
			return ""
		}},
	{"a certificate says what is there", "line by line: certified = scanned = planned",
		func(l *Laws, e *events.Event, _ *Fold) string {
			d, ok := e.Data.(*events.CountAccepted)
			if !ok || l.cartons[d.Carton] == nil {
				return ""
			}
			return l.compare(d)
		}},
	{"nothing open is accepted", "no count is accepted while a matter on the carton is open, except one that is put right and waits for this count",
		func(l *Laws, e *events.Event, _ *Fold) string {
			d, ok := e.Data.(*events.CountAccepted)
			if !ok {
				return ""
			}
			return l.hindered(d.Carton, "fixed")
		}},
	{"nothing is sealed uncounted", "a seal goes on only where a certificate is in force",
		func(l *Laws, e *events.Event, _ *Fold) string {
			d, ok := e.Data.(*events.CartonSealed)
			if ok && (l.cartons[d.Carton] == nil || !l.cartons[d.Carton].cert) {
				return fmt.Sprintf("no count of %s is in force", d.Carton)
			}
			return ""
		}},
	{"nothing open is sealed", "no seal goes on while a matter on the carton is not resolved",
		func(l *Laws, e *events.Event, _ *Fold) string {
			d, ok := e.Data.(*events.CartonSealed)
			if !ok {
				return ""
			}
			return l.hindered(d.Carton, "")
		}},
	{"a seal is used once", "no seal number is used twice",
		func(l *Laws, e *events.Event, _ *Fold) string {
			if d, ok := e.Data.(*events.CartonSealed); ok && l.seals[d.Seal] != "" {
				return fmt.Sprintf("seal %s was used on %s", d.Seal, l.seals[d.Seal])
			}
			return ""
		}},
	{"only what is sealed leaves", "a carton is dispatched once, sealed, with the seal that was put on",
		func(l *Laws, e *events.Event, _ *Fold) string {
			d, ok := e.Data.(*events.CartonDispatched)
			if !ok {
				return ""
			}
			c := l.cartons[d.Carton]
			switch {
			case c != nil && c.sent != "":
				return fmt.Sprintf("%s has left on %s", d.Carton, c.sent)
			case c == nil || c.seal == "":
				return fmt.Sprintf("%s is not sealed", d.Carton)
			case c.seal != d.Seal:
				return fmt.Sprintf("seal %s was put on %s, %s was read", c.seal, d.Carton, d.Seal)
			}
			return ""
		}},
	{"what has left stays away", "nothing joins or comes back from a load that has left",
		func(l *Laws, e *events.Event, _ *Fold) string {
			load := ""
			switch d := e.Data.(type) {
			case *events.CartonDispatched:
				load = d.Load
			case *events.DispatchCancelled:
				load = d.Load
			}
			if l.closed[load] {
				return fmt.Sprintf("load %s has left", load)
			}
			return ""
		}},
	{"a matter is closed lawfully", "a way out that its kinds allow; where that asks for a recount, after a count accepted since it was put right",
		func(l *Laws, e *events.Event, _ *Fold) string {
			d, ok := e.Data.(*events.MismatchResolved)
			if !ok || l.matters[d.Mismatch] == nil {
				return ""
			}
			return l.closes(l.matters[d.Mismatch], d)
		}},
	{"the expected weight is right", "what the decider expected a carton to weigh is what its plan, its tare and the items' masses give",
		func(_ *Laws, e *events.Event, f *Fold) string {
			d, ok := e.Data.(*events.CartonWeighed)
			if !ok || f == nil {
				return ""
			}
			return f.compareWeight(d)
		}},
}

// touchedCarton gives the carton whose contents an event changes.
func touchedCarton(l *Laws, e *events.Event) string {
	switch d := e.Data.(type) {
	case *events.UnitPlaced:
		return d.Carton
	case *events.UnitTakenOut:
		return d.Carton
	case *events.MarkVoided:
		return l.marks.lies[d.Mark]
	}
	return ""
}

// hindered says which matter keeps a carton, unless it is in the state excused.
func (l *Laws) hindered(carton, excused string) string {
	c := l.cartons[carton]
	if c == nil {
		return ""
	}
	for _, key := range c.matters {
		if m := l.matters[key]; m.blocks && m.state != "resolved" && m.state != excused {
			return fmt.Sprintf("%s on %s is open", key, carton)
		}
	}
	return ""
}

// compare holds a certificate against the scans and the plan.
func (l *Laws) compare(d *events.CountAccepted) string {
	certified := map[string]int{}
	for _, line := range d.Lines {
		certified[line.Item] += line.Q
	}
	c := l.cartons[d.Carton]
	for item, n := range c.tally {
		if certified[item] != n {
			return fmt.Sprintf("%d of %s are scanned, %d certified", n, item, certified[item])
		}
	}
	for item, n := range certified {
		if c.tally[item] != n {
			return fmt.Sprintf("%d of %s are certified, %d scanned", n, item, c.tally[item])
		}
		if want := c.plan[item]; want != n {
			return fmt.Sprintf("%d of %s are certified, %d planned", n, item, want)
		}
	}
	for item, want := range c.plan {
		if certified[item] != want {
			return fmt.Sprintf("%d of %s are planned, %d certified", want, item, certified[item])
		}
	}
	return ""
}

// closes judges a resolution.
func (l *Laws) closes(m *inQuestion, d *events.MismatchResolved) string {
	ways := events.WaysOut(m.kinds...)
	i := slices.IndexFunc(ways, func(r events.Resolution) bool { return r.Name == d.Resolution })
	if i < 0 {
		return fmt.Sprintf("%q settles none of %v", d.Resolution, m.kinds)
	}
	if ways[i].Check != events.Recount {
		return ""
	}
	since := m.fixed
	if since.IsZero() {
		since = m.raised
	}
	for _, key := range m.cartons {
		if c := l.cartons[key]; c != nil && !since.Less(c.accepted) {
			return fmt.Sprintf("no count of %s was accepted since %s", key, since)
		}
	}
	return ""
}

// weightTolerance is how far two sums of the same masses may lie apart:
// rounding, and no more.
const weightTolerance = 200 * prep.Milligram

func (f *Fold) compareWeight(d *events.CartonWeighed) string {
	c := f.cartons.get(d.Carton)
	if c == nil || len(c.Weighs) == 0 {
		return ""
	}
	own := c.Weighs[len(c.Weighs)-1].Own
	if !own.Known || d.Expected == 0 {
		return ""
	}
	if off := own.Mean - d.Expected; off > weightTolerance || -off > weightTolerance {
		return fmt.Sprintf("expected %s was written for %s, the masses give %s", grams(d.Expected), d.Carton, grams(own.Mean))
	}
	if off := own.SD - d.SD; off > weightTolerance || -off > weightTolerance {
		return fmt.Sprintf("a deviation of %s was written for %s, the masses give %s", grams(d.SD), d.Carton, grams(own.SD))
	}
	return ""
}

func sumOf(lines []events.CountLine) int {
	n := 0
	for _, l := range lines {
		n += l.Q
	}
	return n
}
