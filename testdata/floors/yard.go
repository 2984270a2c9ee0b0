package floors

import (
	"maps"
	"slices"

	"packwright/workflow"
)

// dispatch puts a sealed carton on an open load.
func (d *Day) dispatch(p *person, f *workflow.Floor) *act {
	for _, load := range slices.Sorted(maps.Keys(f.Loads)) {
		for _, code := range slices.Sorted(maps.Keys(f.Cartons)) {
			c := f.Cartons[code]
			early := c.State == workflow.CartonCounted && d.erring(100)
			if c.State != workflow.CartonSealed && !early || question(f, code) != nil || d.sulking(p, "dispatch "+code) {
				continue
			}
			seen := c.Seal
			if d.erring(20) {
				seen = "S-000"
			}
			return d.leaves(f, code, d.say(p, "dispatch", "carton", code, "load", load, "seal_no_seen", seen))
		}
	}
	return nil
}

// leaves counts a carton when it leaves, and whether what is in it is what the books have.
func (d *Day) leaves(f *workflow.Floor, code string, a *act) *act {
	books := map[string]int{}
	for _, c := range f.Ledger.At(code) {
		books[c.Item] += c.Qty()
	}
	wrong := !maps.Equal(books, d.truth.count(code))
	return a.then(func(ans Answer) {
		if ans.Outcome == workflow.Kept {
			if d.Left++; wrong {
				d.Wrong++
			}
		}
	})
}

// tidy moves totes about, clears empty ones, splits full ones.
func (d *Day) tidy(p *person, f *workflow.Floor) *act {
	codes := slices.Sorted(maps.Keys(f.Totes))
	if len(codes) == 0 {
		return nil
	}
	tote := pick(d.mind, codes)
	switch {
	case len(f.Ledger.At(tote)) == 0:
		return d.say(p, "clear-tote", "tote", tote)
	case d.mind.Percent(50):
		return d.say(p, "move-tote", "tote", tote, "place", pick(d.mind, append(d.names, "SHELF-1")))
	}
	c := f.Ledger.At(tote)[0]
	if c.Qty() < 2 || !d.Policy.Totes {
		return nil
	}
	to := d.tote(c.Lot)
	like := d.truth.find(func(x *piece) bool { return x.where == tote && x.lot == c.Lot && x.mark == 0 })
	if c.N == 0 {
		if x := d.truth.marked(c.Marks[0]); x != nil && x.where == tote {
			return d.say(p, "split-tote", "from", tote, "to", to, "marks", c.Marks[:1]).hands(func() { x.where = to }, func() { x.where = tote })
		}
		return nil
	}
	if len(like) == 0 {
		return nil
	}
	return d.say(p, "split-tote", "from", tote, "to", to, "q", 1).hands(func() { like[0].where = to }, func() { like[0].where = tote })
}
