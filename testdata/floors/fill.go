package floors

import (
	"fmt"
	"maps"
	"slices"

	"packwright/events"
	"packwright/prep"
	"packwright/workflow"
)

// fill gives the next step of a carton: place, finish, weigh, count, accept, label, seal.
func (d *Day) fill(p *person, f *workflow.Floor, c *workflow.Carton) *act {
	switch c.State {
	case workflow.CartonOpen:
		if a := d.place(p, f, c); a != nil {
			return a
		}
		if len(f.Ledger.At(c.Carton)) == 0 || !d.wantsFinish(f, c) {
			return nil
		}
		return d.about(p, c, "finish-carton")
	case workflow.CartonCounting:
		return d.tell(p, f, c)
	}
	if d.erring(60) { // something looks off after all
		if a := d.out(p, f, c, f.Ledger.At(c.Carton)[0].Item); a != nil {
			return a
		}
	}
	if !c.Label {
		return d.about(p, c, "print-labels", "kind", "carton", "n", 1)
	}
	return d.seal(p, c)
}

// about says something of a carton; when it is refused the carton is left alone for a while.
func (d *Day) about(p *person, c *workflow.Carton, typ string, more ...any) *act {
	a := d.say(p, typ, append([]any{"carton", c.Carton}, more...)...)
	a.key = "carton " + c.Carton
	return a
}

func (d *Day) seal(p *person, c *workflow.Carton) *act {
	d.seals++
	n := d.seals
	if d.erring(20) && n > 1 {
		n = d.mind.Between(1, n-1)
	}
	words := []any{"seal_no", fmt.Sprintf("S-%03d", n)}
	if d.mind.Percent(60) {
		d.sscc++
		code, err := prep.NextSSCC("952", 0, d.sscc)
		if err != nil {
			panic(err)
		}
		words = append(words, "carton_code", code)
	}
	if c.Weight == nil {
		words = append(words, "gross_g", d.reading(c))
	}
	return d.about(p, c, "seal", words...)
}

// reading is what the scale shows, in grams: tare, packing, what really lies in it, and its own unrest.
func (d *Day) reading(c *workflow.Carton) int {
	w := d.Policy.Weighing
	return int(c.Tare.Grams() + w.Packing.Grams() + d.truth.grams(c.Carton) + d.mind.Normal()*(w.ScaleSD.Grams()+w.PackingSD.Grams()))
}

// tell weighs, counts and asks for the certificate.
func (d *Day) tell(p *person, f *workflow.Floor, c *workflow.Carton) *act {
	switch {
	case d.erring(40) && !c.Label: // in a hurry: label and tape before anybody has counted
		return d.about(p, c, "print-labels", "kind", "carton", "n", 1)
	case d.erring(60) && c.Label:
		return d.seal(p, c)
	case c.ChangedRev > c.FinishRev:
		return d.about(p, c, "finish-carton")
	case c.Weight == nil && d.Policy.Scale:
		return d.weigh(p, c)
	case c.Count == nil && !(c.Weight != nil && !d.Policy.HandCount && d.mind.Percent(60)):
		return d.count(p, c)
	}
	return d.about(p, c, "accept-count")
}

func (d *Day) weigh(p *person, c *workflow.Carton) *act {
	words := []any{"gross_g", d.reading(c), "scale", "SC-1"}
	if d.erring(30) {
		words = []any{"gross_g", d.reading(c) + pick(d.mind, []int{-150, 200}), "scale", "SC-1", "stable", d.mind.Percent(50)}
	}
	return d.about(p, c, "weigh", words...)
}

// count counts what really lies in the carton, and errs at times.
func (d *Day) count(p *person, c *workflow.Carton) *act {
	n := d.truth.count(c.Carton)
	slip := 0
	if d.erring(60) {
		slip = pick(d.mind, []int{-1, 1})
	}
	total := 0
	var said []map[string]any
	for i, item := range slices.Sorted(maps.Keys(n)) {
		q := n[item]
		if i == 0 {
			q = max(0, q+slip)
		}
		total += q
		said = append(said, kv("item", item, "q", q))
	}
	words := []any{"lines", said}
	if len(said) < 2 || d.mind.Percent(15) {
		words = []any{"total", total}
	}
	return d.about(p, c, "enter-count", words...).then(func(Answer) {
		if d.erring(30) {
			p.send(d.takesBack(p))
		}
	})
}

// wantsFinish: all lines are full, or nothing more is to be had.
func (d *Day) wantsFinish(f *workflow.Floor, c *workflow.Carton) bool {
	short := false
	for _, l := range lines(f, c) {
		short = short || scanned(f, c.Carton, l.Item) < l.Q
	}
	return !short || d.erring(20) || d.round > d.rounds*2/3 && d.mind.Percent(20) || d.round > d.rounds
}

// scanned counts what the books have of an item in a carton.
func scanned(f *workflow.Floor, carton, item string) (n int) {
	for _, c := range f.Ledger.At(carton) {
		if c.Item == item {
			n += c.Qty()
		}
	}
	return n
}

// place takes a piece of a line that is not full, puts it in and scans it; or errs.
func (d *Day) place(p *person, f *workflow.Floor, c *workflow.Carton) *act {
	for _, l := range lines(f, c) {
		room := l.Q - scanned(f, c.Carton, l.Item)
		if room < 1 {
			continue
		}
		cells := d.readyCells(f, l.Item)
		if len(cells) == 0 || d.sulking(p, "place "+c.Carton+l.Item) {
			continue
		}
		cell := pick(d.mind, cells)
		if a := d.slip(p, f, c, l, cell); a != nil {
			return a
		}
		if a := d.putIn(p, f, c, cell, room); a != nil {
			a.key = "place " + c.Carton + l.Item
			return a
		}
	}
	return nil
}

// putIn takes pieces from where the books and the hands both have some.
func (d *Day) putIn(p *person, f *workflow.Floor, c *workflow.Carton, cell *workflow.Cell, room int) *act {
	from, item, lot := cell.Place, cell.Item, cell.Lot
	into := func(a *act, pieces []*piece) *act {
		return a.hands(func() { move(pieces, c.Carton) }, func() { move(pieces, from) })
	}
	if len(cell.Marks) > 0 {
		for _, m := range cell.Marks {
			if x := d.truth.marked(m); x != nil && x.where == from {
				words := []any{"carton", c.Carton, "marks", prep.Marks{m}}
				if d.mind.Percent(30) {
					words = []any{"carton", c.Carton, "code", m.Code()}
				}
				return into(d.say(p, "place", words...), []*piece{x})
			}
		}
		return nil
	}
	there := d.truth.find(func(x *piece) bool { return x.where == from && x.item == item && x.mark == 0 && x.ready })
	if len(there) == 0 {
		return nil
	}
	words := []any{"carton", c.Carton, pick(d.mind, []string{"item", "code"}), item, "from", from}
	if words[2] == "code" && d.mind.Percent(60) {
		words[3] = string(d.items[item].Codes[0])
	}
	if !d.Policy.Totes || from[:1] != "T" {
		words = append(words, "lot", lot)
	}
	if d.items[item].Trace == prep.TraceBorn {
		there = slices.DeleteFunc(there, func(x *piece) bool { return booked(f, item, x.serial) })
		if len(there) == 0 {
			return nil
		}
		return into(d.say(p, "place", append(words, "serials", []string{there[0].serial})...), there[:1])
	}
	n := min(room, len(there), cell.N)
	switch {
	case n > 1 && n == len(there) && n == cell.N && d.mind.Percent(10) && d.Policy.Totes && from[:1] == "T":
		return into(d.say(p, "place", "carton", c.Carton, "from", from, "pour", true), there)
	case n > 1 && d.mind.Percent(15):
		q := d.mind.Between(2, n)
		return into(d.say(p, "place", append(words, "q", q)...), there[:q])
	case d.mind.Percent(5):
		words = slices.Delete(words, 4, 6) // which tote is not said
	}
	return into(d.say(p, "place", words...), there[:1])
}

// booked says whether the books have a maker's serial in some carton.
func booked(f *workflow.Floor, item, serial string) bool {
	for _, c := range f.Cartons {
		if c.Serials[item+"/"+serial] {
			return true
		}
	}
	return false
}

// slip is what goes wrong at a carton, or nil.
func (d *Day) slip(p *person, f *workflow.Floor, c *workflow.Carton, l events.PlanLine, cell *workflow.Cell) *act {
	if !d.erring(150) {
		return nil
	}
	there := d.truth.find(func(x *piece) bool { return x.where == cell.Place && x.item == l.Item && x.ready })
	words := []any{"carton", c.Carton, "item", l.Item, "from", cell.Place, "lot", cell.Lot}
	if len(cell.Marks) > 0 {
		words = []any{"carton", c.Carton, "marks", cell.Marks[:1]}
	}
	switch d.mind.Below(8) {
	case 0: // a piece goes in without its scan
		if len(there) > 0 {
			there[0].where = c.Carton
		}
		return nil
	case 1: // a scan of a piece that stays where it is
		return d.say(p, "place", words...)
	case 2: // heard twice
		a := d.say(p, "place", words...)
		again := func(*workflow.Floor) *act { return d.say(p, "place", words...) }
		p.send(again)
		if d.mind.Percent(40) {
			p.send(d.takesBack(p))
		}
		if len(there) > 0 && len(cell.Marks) == 0 {
			a.hands(func() { there[0].where = c.Carton }, func() { there[0].where = cell.Place })
		}
		return a
	case 3: // the neighbour's carton
		words[1] = pick(d.mind, slices.Sorted(maps.Keys(f.Cartons)))
	case 4: // another item's code
		words = []any{"carton", c.Carton, "item", pick(d.mind, slices.Sorted(maps.Keys(d.items)))}
	case 5: // the wrong tote
		words = []any{"carton", c.Carton, "item", l.Item, "from", pick(d.mind, append(slices.Sorted(maps.Keys(f.Totes)), "T-99"))}
	case 6: // some code
		words = []any{"carton", c.Carton, "code", pick(d.mind, []string{"9520000010034", "M-9999", "ZZZ", "111111MX"})}
	default: // out again, by scan
		in := d.truth.in(c.Carton, l.Item)
		if len(in) == 0 || in[0].mark != 0 || d.items[l.Item].Trace == prep.TraceBorn {
			return nil
		}
		return d.say(p, "take-out", "carton", c.Carton, "item", l.Item, "lot", in[0].lot, "reason", "looks off").
			hands(func() { in[0].where = "A-" + p.here }, func() { in[0].where = c.Carton })
	}
	return d.say(p, "place", words...)
}
