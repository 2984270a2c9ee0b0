package floors

import (
	"fmt"
	"maps"
	"slices"

	"packwright/events"
	"packwright/prep"
	"packwright/workflow"
)

// pack gives what a packer says next: on with what is in hand, else something new.
func (d *Day) pack(p *person, f *workflow.Floor) *act {
	if r := f.Runs[d.runOf(p, f)]; r != nil {
		if a := d.prep(p, f, r); a != nil {
			return a
		}
	}
	if c := d.cartonOf(p, f); c != nil {
		if a := d.fill(p, f, c); a != nil {
			return a
		}
	}
	if d.stations[p.here].back > 0 {
		return nil // nothing new is begun out of touch
	}
	wishes := []func(*person, *workflow.Floor) *act{d.receive, d.triage, d.openRun, d.openCarton, d.dispatch}
	first := d.mind.Below(len(wishes))
	for i := range wishes {
		if a := wishes[(first+i)%len(wishes)](p, f); a != nil {
			return a
		}
	}
	switch {
	case d.mind.Percent(12):
		return d.tidy(p, f)
	case d.mind.Percent(8):
		return d.setAside(p, f)
	}
	return nil
}

// setAside holds, diverts or gives up a piece in a tote that looks wrong after all.
func (d *Day) setAside(p *person, f *workflow.Floor) *act {
	codes := slices.Sorted(maps.Keys(f.Totes))
	if len(codes) == 0 {
		return nil
	}
	tote := pick(d.mind, codes)
	there := d.truth.in(tote, "")
	if len(there) == 0 {
		return nil
	}
	x := pick(d.mind, there)
	typ, where := "hold", "A-"+p.here
	words := []any{"from", tote, "lot", x.lot, "q", 1, "reason", "dent"}
	if x.mark != 0 {
		words = []any{"marks", prep.Marks{x.mark}, "reason", "dent"}
	}
	if d.mind.Percent(30) {
		typ, where = "divert", away
		words = append(words, "channel", "outlet")
	}
	return d.say(p, typ, words...).hands(func() { x.where = where }, func() { x.where = tote })
}

// runOf names the run in this person's hands here.
func (d *Day) runOf(p *person, f *workflow.Floor) string {
	for _, code := range slices.Sorted(maps.Keys(f.Runs)) {
		if r := f.Runs[code]; r.State != workflow.RunClosed && r.Station == p.here && r.Badge == p.badge {
			return code
		}
	}
	return ""
}

// cartonOf gives a carton in hand here that no question blocks.
func (d *Day) cartonOf(p *person, f *workflow.Floor) *workflow.Carton {
	for _, code := range slices.Sorted(maps.Keys(f.Cartons)) {
		c := f.Cartons[code]
		if c.Bench == p.here && inHand(c) && question(f, code) == nil && !d.sulking(p, "carton "+code) {
			return c
		}
	}
	return nil
}

func inHand(c *workflow.Carton) bool {
	return c.State == workflow.CartonOpen || c.State == workflow.CartonCounting || c.State == workflow.CartonCounted
}

// question gives the open mismatch that blocks a carton, or nil.
func question(f *workflow.Floor, carton string) *workflow.Matter {
	for _, code := range slices.Sorted(maps.Keys(f.Matters)) {
		m := f.Matters[code]
		if m.Blocks && m.Resolved.IsZero() && slices.ContainsFunc(m.Scopes, func(s events.Scope) bool { return s.Carton == carton }) {
			return m
		}
	}
	return nil
}

// tote gives an empty tote for a lot.
func (d *Day) tote(lot string) string {
	if !d.Policy.Totes {
		return lot
	}
	d.totes++
	return fmt.Sprintf("T-%02d", d.totes)
}

// receive takes pieces of a lot from the truck into a tote, and says how many.
func (d *Day) receive(p *person, f *workflow.Floor) *act {
	for _, lot := range d.lots {
		there := d.truth.in(truck, "")
		there = slices.DeleteFunc(there, func(x *piece) bool { return x.lot != lot })
		if len(there) == 0 || d.sulking(p, "receive "+lot) || f.Lots[lot] == nil || f.Lots[lot].Closed {
			continue
		}
		if len(there) > 3 && d.mind.Percent(25) {
			there = there[:d.mind.Between(2, len(there)-1)]
		}
		tote, n := d.tote(lot), len(there)
		if d.erring(50) {
			n = max(1, n+d.mind.Between(-1, 1))
		}
		words := []any{"lot", lot, "tote", tote, "qty", n}
		if d.items[there[0].item].Attrs.Expiry == prep.ExpiryBestBefore {
			words = append(words, "expiry", pick(d.mind, []string{"2033-01", "2033-01", "2033-01", "2033-01", "2033-01", "2033-01", "2032-06-30", "2031-05"}))
		}
		return d.say(p, "receive", words...).hands(func() { move(there, tote) }, func() { move(there, truck) })
	}
	return nil
}

// triage gives a verdict on some pieces of a tote that the books have as received.
func (d *Day) triage(p *person, f *workflow.Floor) *act {
	for _, lot := range d.lots {
		for _, tote := range slices.Sorted(maps.Keys(f.Totes)) {
			n := f.Ledger.N(workflow.Key{Lot: lot, Stage: events.Received, Place: tote})
			if n == 0 || d.sulking(p, "triage "+tote) {
				continue
			}
			return d.verdict(p, f, lot, tote, n)
		}
	}
	return nil
}

func (d *Day) verdict(p *person, f *workflow.Floor, lot, tote string, n int) *act {
	say := func(q int, verdict string, more ...any) *act {
		words := append([]any{"tote", tote, "lot", lot, "q", q, "verdict", verdict}, more...)
		if d.mind.Percent(20) && d.Policy.Totes {
			words = slices.Delete(words, 2, 4) // the tote tells
		}
		return d.say(p, "triage", words...)
	}
	took := func(q int) []*piece {
		there := d.truth.find(func(x *piece) bool { return x.where == tote && x.lot == lot && !x.ready })
		return there[:min(q, len(there))]
	}
	put := func(a *act, q int, where string) *act {
		pieces := took(q)
		return a.hands(func() { move(pieces, where) }, func() { move(pieces, tote) })
	}
	aside := "A-" + p.here
	switch {
	case d.items[f.Lots[lot].Item].Attrs.Battery == prep.BatteryLithium && !d.erring(100):
		return put(say(n, "hold"), n, aside)
	case d.mind.Percent(5):
		return put(say(1, "hold", "reason", pick(d.mind, []string{"box pressed", "leak at the lid", "smells"})), 1, aside)
	case d.mind.Percent(4):
		return put(say(1, "divert", "grade", "C", "reason", "crushed corner", "channel", "outlet"), 1, away)
	case d.mind.Percent(3):
		return put(say(1, "writeoff", "grade", "C", "reason", "broken"), 1, away)
	case d.erring(30):
		return say(n+1, "prep", "grade", "A")
	}
	if n > 4 && d.mind.Percent(20) {
		n = d.mind.Between(2, n)
	}
	return say(n, "prep", "grade", pick(d.mind, []string{"A", "A", "B", ""}))
}

// openRun takes triaged pieces of a tote in hand.
func (d *Day) openRun(p *person, f *workflow.Floor) *act {
	if !d.Policy.Runs {
		return d.firstScan(p, f)
	}
	for _, tote := range slices.Sorted(maps.Keys(f.Totes)) {
		n, lot := d.triaged(f, tote)
		if n < 1 || d.sulking(p, "open-run "+tote) {
			continue
		}
		words := []any{"tote", tote, "run", fmt.Sprintf("R-%s-%d", p.here, d.round), "bench_clear", pick(d.mind, []string{"yes", "yes", "yes", "yes", "yes", "yes", "yes", "yes", "yes", "no"})}
		if !d.Policy.Totes {
			words = append(words, "lot", lot)
		}
		if d.Policy.Clearances && p.badge == "pk-1" && d.mind.Percent(60) {
			words = append(words, "lead", "sup-1")
		}
		q := n
		if n > 5 && d.mind.Percent(20) {
			q = d.mind.Between(3, n)
		}
		if f.Lots[lot].Item == "CRD" {
			if n < 2 {
				continue
			}
			words, q = append(words, "item", "DUO"), q/2*2
		}
		return d.say(p, "open-run", append(words, "q", q)...)
	}
	return nil
}

// triaged counts the pieces of a tote that no run has in hand.
func (d *Day) triaged(f *workflow.Floor, tote string) (n int, lot string) {
	for _, c := range f.Ledger.At(tote) {
		if c.Stage == events.Triaged {
			n, lot = c.N, c.Lot
		}
	}
	for _, r := range f.Runs {
		if r.State != workflow.RunClosed && r.Tote == tote {
			n -= r.Q - r.Used - r.Spoiled
		}
	}
	return n, lot
}

// openCarton takes a planned carton of which some pieces are ready.
func (d *Day) openCarton(p *person, f *workflow.Floor) *act {
	for _, code := range slices.Sorted(maps.Keys(f.Cartons)) {
		c := f.Cartons[code]
		if c.State != workflow.CartonPlanned || d.sulking(p, "open-carton "+code) {
			continue
		}
		for _, l := range lines(f, c) {
			if len(d.readyCells(f, l.Item)) > 0 {
				return d.say(p, "open-carton", "carton", code, "tare_g", 400, "box_material", "box-8x6x4")
			}
		}
	}
	return nil
}

// lines lists what the plan in force wants in a carton.
func lines(f *workflow.Floor, c *workflow.Carton) (out []events.PlanLine) {
	if p := f.Plans[c.Plan]; p != nil {
		for _, l := range p.Lines {
			if l.Carton == c.Carton {
				out = append(out, l)
			}
		}
	}
	return out
}

// readyCells lists the cells outside cartons where prepped pieces of an item
// lie; hardly ever those of an owner who has no line for it.
func (d *Day) readyCells(f *workflow.Floor, item string) (out []*workflow.Cell) {
	places := append(slices.Sorted(maps.Keys(f.Totes)), d.names...)
	for _, name := range d.names {
		places = append(places, "A-"+name)
	}
	for _, place := range places {
		for _, c := range f.Ledger.At(place) {
			if c.Item == item && c.Stage == events.Prepped && (f.Lots[c.Lot].Owner == d.items[item].Owner || d.mind.Percent(2)) {
				out = append(out, c)
			}
		}
	}
	return out
}
