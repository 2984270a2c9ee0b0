package floors

import (
	"fmt"
	"maps"
	"slices"

	"packwright/events"
	"packwright/workflow"
)

// supervise gives what a supervisor says next: open matters first, then chores.
func (d *Day) supervise(p *person, f *workflow.Floor) *act {
	if p.here != workflow.Board {
		return d.say(p, "sign-out").then(func(Answer) { p.here = p.home })
	}
	for _, code := range slices.Sorted(maps.Keys(f.Matters)) {
		if m := f.Matters[code]; m.Resolved.IsZero() && !d.sulking(p, "matter "+code) {
			if a := d.settle(p, f, m); a != nil {
				if a.matter == "" && a.typ != "take" {
					a.matter = code
				}
				a.key = "matter " + code
				return a
			}
		}
	}
	if c := d.cartonOf(p, f); c != nil {
		if a := d.fill(p, f, c); a != nil {
			return a
		}
	}
	chores := []func(*person, *workflow.Floor) *act{d.closeIntake, d.load, d.releaseHold, d.correct, d.changePlan, d.oddJob, d.handOver, d.emptyCarton, d.leftovers}
	return pick(d.mind, chores)(p, f)
}

// closeIntake closes what has come in full, and what never will.
func (d *Day) closeIntake(p *person, f *workflow.Floor) *act {
	for _, lot := range d.lots {
		l := f.Lots[lot]
		waits := slices.ContainsFunc(d.truth.pieces, func(x *piece) bool { return x.lot == lot && x.where == truck })
		if l == nil || l.Closed || waits && d.round < d.rounds || l.Received == 0 || l.Received == l.Expected || d.sulking(p, "close-intake "+lot) {
			continue
		}
		return d.say(p, "close-intake", "lot", lot)
	}
	return nil
}

// load opens a load when something may leave, and closes it when it is full.
func (d *Day) load(p *person, f *workflow.Floor) *act {
	gone, sealed := 0, 0
	for _, c := range f.Cartons {
		switch c.State {
		case workflow.CartonSealed:
			sealed++
		case workflow.CartonDispatched:
			gone++
		}
	}
	loads := slices.Sorted(maps.Keys(f.Loads))
	switch {
	case len(loads) == 0 && sealed > 0 && d.mind.Percent(40):
		d.loads++
		return d.say(p, "open-load", "load", fmt.Sprintf("LD-%d", d.loads), "due", d.at())
	case len(loads) > 0 && gone > 0 && d.mind.Percent(8):
		return d.say(p, "close-load", "load", loads[0])
	case gone > 0 && d.erring(60):
		for _, code := range slices.Sorted(maps.Keys(f.Cartons)) {
			if f.Cartons[code].State == workflow.CartonDispatched {
				return d.say(p, "cancel-dispatch", "carton", code, "reason", "wrong truck")
			}
		}
	case sealed > 0 && d.erring(60):
		for _, code := range slices.Sorted(maps.Keys(f.Cartons)) {
			if f.Cartons[code].State == workflow.CartonSealed {
				return d.say(p, "reopen", "carton", code, "reason", "look again")
			}
		}
	}
	return nil
}

// releaseHold looks at what waits in an aside tote: back on the road, or out.
func (d *Day) releaseHold(p *person, f *workflow.Floor) *act {
	for _, code := range slices.Sorted(maps.Keys(f.Holds)) {
		h := f.Holds[code]
		if d.sulking(p, "hold "+code) || h.Hazard && d.mind.Percent(70) {
			continue
		}
		pieces := d.truth.find(func(x *piece) bool { return x.where == h.Place && x.lot == h.Lot })
		if len(h.Marks) > 0 {
			pieces = slices.DeleteFunc(pieces, func(x *piece) bool { return !h.Marks.Contains(x.mark) })
		}
		pieces = pieces[:min(len(pieces), h.Q)]
		var a *act
		switch d.mind.Below(6) {
		case 0:
			a = d.say(p, "write-off", "hold", code, "q", h.Q, "reason", "not worth it")
		case 1:
			a = d.say(p, "divert", "hold", code, "q", h.Q, "channel", "outlet", "reason", "as it is")
		case 2:
			a = d.say(p, "declare-unaccounted", "hold", code, "q", h.Q, "second", "own")
		default:
			to := h.From
			if d.mind.Percent(50) {
				to = d.tote(h.Lot)
			}
			a = d.say(p, "release-hold", "hold", code, "reason", "looked at", "to", to).
				hands(func() { move(pieces, to) }, func() { move(pieces, h.Place) })
		}
		if a.typ != "release-hold" {
			if len(h.Marks) > 0 {
				delete(a.data, "hold")
				delete(a.data, "q")
				a.data["marks"] = h.Marks
			}
			a.hands(func() { move(pieces, away) }, func() { move(pieces, h.Place) })
		}
		a.key = "hold " + code
		return a
	}
	return nil
}

// correct puts right what the books and the hands have in a tote nobody works on.
func (d *Day) correct(p *person, f *workflow.Floor) *act {
	for _, tote := range slices.Sorted(maps.Keys(f.Totes)) {
		for _, c := range f.Ledger.At(tote) {
			really := len(d.truth.find(func(x *piece) bool { return x.where == tote && x.lot == c.Lot && !x.ready }))
			early := c.Stage == events.Received || c.Stage == events.Triaged
			if !early || really == c.N || d.mind.Percent(60) || d.sulking(p, "correct-receipt "+c.Lot) {
				continue
			}
			if really < c.N && d.mind.Percent(30) {
				return d.say(p, "declare-unaccounted", "from", tote, "lot", c.Lot, "stage", c.Stage, "q", c.N-really, "second", "own")
			}
			return d.say(p, "correct-receipt", "lot", c.Lot, "stage", c.Stage, "place", tote, "delta", really-c.N, "reason", "counted again")
		}
	}
	return nil
}

// changePlan proposes a piece more or less somewhere, for no good reason.
func (d *Day) changePlan(p *person, f *workflow.Floor) *act {
	if !d.erring(150) || len(f.Plans) == 0 {
		return nil
	}
	plan := f.Plans[pick(d.mind, slices.Sorted(maps.Keys(f.Plans)))]
	if len(plan.Lines) == 0 {
		return nil
	}
	l := pick(d.mind, plan.Lines)
	for _, other := range plan.Lines { // best one that is counted or about to be
		if c := f.Cartons[other.Carton]; c != nil && d.mind.Percent(40) && (c.State == workflow.CartonCounted || c.State == workflow.CartonCounting) {
			l = other
		}
	}
	delta := pick(d.mind, []int{-1, -1, 1, -2})
	changes := []map[string]any{kv("carton", l.Carton, "item", l.Item, "delta", delta)}
	if d.mind.Percent(30) {
		other := pick(d.mind, plan.Lines)
		changes = append(changes, kv("carton", other.Carton, "item", l.Item, "delta", -delta))
	}
	return d.say(p, "propose", "plan", plan.Plan, "changes", changes, "reason", "the other end asks")
}

// handOver gives the work of a silent bench to another, or a carton for no reason.
func (d *Day) handOver(p *person, f *workflow.Floor) *act {
	for _, name := range d.names {
		s := d.stations[name]
		if s.back == 0 || d.mind.Percent(85) {
			continue
		}
		for _, code := range slices.Sorted(maps.Keys(f.Cartons)) {
			if c := f.Cartons[code]; c.Bench == name && inHand(c) {
				return d.say(p, "hand-over-carton", "carton", code, "to", workflow.Board)
			}
		}
		for _, code := range slices.Sorted(maps.Keys(f.Runs)) {
			if r := f.Runs[code]; r.Station == name && r.State != workflow.RunClosed {
				return d.say(p, "hand-over-run", "run", code, "to", pick(d.mind, d.ofJob("packer")).home)
			}
		}
	}
	// a run whose packer has gone goes to whoever is at the bench; another goes elsewhere for no reason
	for _, code := range slices.Sorted(maps.Keys(f.Runs)) {
		r := f.Runs[code]
		switch {
		case r.State == workflow.RunClosed:
		case f.Badges[r.Badge].Station != r.Station && d.mind.Percent(50):
			return d.say(p, "hand-over-run", "run", code, "to", r.Station)
		case d.erring(60):
			return d.say(p, "hand-over-run", "run", code, "to", pick(d.mind, d.ofJob("packer")).home)
		}
	}
	return nil
}

// emptyCarton ends a carton that is wanted no more.
func (d *Day) emptyCarton(p *person, f *workflow.Floor) *act {
	for _, code := range slices.Sorted(maps.Keys(f.Cartons)) {
		c := f.Cartons[code]
		wanted := 0
		for _, l := range lines(f, c) {
			wanted += l.Q
		}
		if (c.State == workflow.CartonPlanned || c.State == workflow.CartonOpen) && wanted == 0 && len(f.Ledger.At(code)) == 0 && !d.sulking(p, "void-carton "+code) {
			return d.say(p, "void-carton", "carton", code, "reason", "nothing is planned for it")
		}
	}
	return nil
}

// leftovers brings diverted pieces back, and writes off what lies about.
func (d *Day) leftovers(p *person, f *workflow.Floor) *act {
	if !d.mind.Percent(15) {
		return nil
	}
	for _, lot := range d.lots {
		n := f.Ledger.N(workflow.Key{Lot: lot, Stage: events.Diverted})
		back := d.truth.find(func(x *piece) bool { return x.lot == lot && x.where == away && !x.ready })
		if n == 0 || len(back) == 0 || d.sulking(p, "un-divert "+lot) {
			continue
		}
		tote := d.tote(lot)
		return d.say(p, "un-divert", "lot", lot, "q", 1, "tote", tote, "reason", "the outlet sent it back").
			hands(func() { back[0].where, back[0].mark = tote, 0 }, func() { back[0].where = away })
	}
	return nil
}
