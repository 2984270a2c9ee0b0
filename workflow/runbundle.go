package workflow

import (
	"cmp"
	"fmt"
	"slices"

	"packwright/events"
	"packwright/prep"
)

// buildAsk makes sets of parts: by default of the run's own tote.
type buildAsk struct {
	ofRun
	Q          int                `json:"q"` // sets; 0: as many as the parts in hand make
	Components []events.Component `json:"components"`
}

func (in *buildAsk) check() error {
	if in.Q < 0 {
		return prep.Input("a number of sets below one", "count the sets")
	}
	for i := range in.Components {
		c := &in.Components[i]
		if n := len(c.Marks); n > 0 && c.Q == 0 {
			c.Q = n
		}
		if c.Lot == "" || c.Q < 1 || len(c.Marks) > 0 && c.Q != len(c.Marks) {
			return prep.Input("a part needs its lot and how many, or its labels", "scan the tote of each part")
		}
	}
	return nil
}

var buildRule = on(rule{Name: "build-bundle", Who: packers, Late: true, Moves: []Move{{"unit", "triaged", "consumed"},
	{"unit", "prepped", "consumed"}, {"unit", "", "triaged"}}}, working(
	gate[buildAsk]{Gate{"parts that are in no carton", "E-OUT-01", ""}, func(d *decision, in *buildAsk) *Refusal {
		for _, c := range in.Components {
			place := c.From
			if len(c.Marks) > 0 && d.f.Ledger.Find(c.Marks[0]) != nil {
				place = d.f.Ledger.Find(c.Marks[0]).Place
			}
			if d.f.Cartons[place] != nil {
				return refuse("E-OUT-01", place)
			}
		}
		return nil
	}},
	gate[buildAsk]{Gate{"a run that makes sets; parts that are there, of one owner, exactly as many as the sets need", "E-BND-01", ""}, func(d *decision, in *buildAsk) *Refusal {
		if why := d.incomplete(in); why != "" {
			return refuse("E-BND-01", why)
		}
		return nil
	}},
), func(d *decision, in *buildAsk) {
	r := in.run
	lot := d.f.bundleLot(r)
	to := cmp.Or(r.Stand, d.id.Station)
	if !d.f.policy.Totes {
		to = lot
	}
	d.emit(&events.BundleBuilt{Run: r.Run, Lot: lot, Item: r.Item, Owner: d.f.Lots[r.Lot].Owner, Q: in.Q, To: to, Components: in.Components})
})

// incomplete says why the sets cannot be made, or "". It fills in what was not said of the parts.
func (d *decision) incomplete(in *buildAsk) string {
	r := in.run
	if r.Set == 0 {
		return r.Run + " makes no sets"
	}
	if len(in.Components) == 0 {
		if in.Q == 0 {
			in.Q = r.inHand() / r.Set
		}
		in.Components = []events.Component{{Lot: r.Lot, Q: in.Q * r.Set}}
	}
	for i := range in.Components {
		if why := d.part(r, &in.Components[i]); why != "" {
			return why
		}
	}
	in.Components = merged(in.Components)
	parts, own := 0, 0
	for i := range in.Components {
		c := &in.Components[i]
		if why := d.there(r, c); why != "" {
			return why
		}
		parts += c.Q
		if r.took(*c) {
			own += c.Q
		}
	}
	if in.Q == 0 && parts%r.Set == 0 {
		in.Q = parts / r.Set
	}
	if in.Q < 1 || parts != in.Q*r.Set {
		return fmt.Sprintf("%d of %d parts", parts, max(in.Q, 1)*r.Set)
	}
	if own > r.inHand() {
		return fmt.Sprintf("%d of %d parts in hand", r.inHand(), own)
	}
	return ""
}

// part finds one component's cell: triaged in the run's tote unless said otherwise.
func (d *decision) part(r *Run, c *events.Component) string {
	if len(c.Marks) > 0 {
		if cell := d.f.Ledger.Find(c.Marks[0]); cell != nil {
			c.Lot, c.Stage, c.From = cell.Lot, cell.Stage, cell.Place
		}
	}
	c.Stage = cmp.Or(c.Stage, events.Triaged)
	if c.From == "" && c.Lot == r.Lot {
		c.From = r.Tote
	}
	c.From = d.f.toteFor(c.From, c.Lot)
	l, own := d.f.Lots[c.Lot], d.f.Lots[r.Lot]
	switch {
	case l == nil || own == nil:
		return "lot " + c.Lot + " is not here"
	case l.Owner != own.Owner:
		return "parts of two owners"
	case c.Stage != events.Triaged && c.Stage != events.Prepped:
		return "a part is not ready"
	}
	c.Item = l.Item
	return ""
}

// there says why a component is not there in full, or "".
func (d *decision) there(r *Run, c *events.Component) string {
	k := Key{c.Lot, c.Stage, c.From}
	free := d.f.free(k, r)
	if len(c.Marks) > 0 && !d.f.Ledger.holds(k, c.Q, c.Marks) || len(c.Marks) == 0 && free < c.Q {
		return fmt.Sprintf("%d of %d parts", max(free, 0), c.Q)
	}
	return ""
}

// merged gives each cell one component of its marked and one of its other units.
func merged(list []events.Component) (out []events.Component) {
	for _, c := range list {
		i := slices.IndexFunc(out, func(o events.Component) bool {
			return o.Lot == c.Lot && o.Stage == c.Stage && o.From == c.From && (len(o.Marks) > 0) == (len(c.Marks) > 0)
		})
		if i < 0 {
			out = append(out, c)
			continue
		}
		o := &out[i]
		o.Q += c.Q
		if len(c.Marks) > 0 {
			o.Marks = o.Marks.Union(c.Marks)
			o.Q = len(o.Marks) // a label named twice is one piece
		}
	}
	return out
}

// free counts the anonymous units of a cell that no other run has in hand.
func (f *Floor) free(k Key, own *Run) int {
	n := f.Ledger.N(k)
	for _, r := range f.Runs {
		if r.State != RunClosed && r.Run != own.Run && k == (Key{r.Lot, events.Triaged, r.Tote}) {
			n -= r.inHand()
		}
	}
	return n
}

// took says whether parts are of those the run took in hand when it opened.
func (r *Run) took(c events.Component) bool {
	return c.Lot == r.Lot && c.Stage == events.Triaged && c.From == r.Tote
}

// bundleLot names the lot that a run's sets are: one for a lot and an item, for
// as long as it is known.
func (f *Floor) bundleLot(r *Run) string {
	if r.Bundle != "" {
		return r.Bundle
	}
	for n := 1; ; n++ {
		id := r.Lot + "/B"
		if n > 1 {
			id = fmt.Sprintf("%s/B%d", r.Lot, n)
		}
		if l := f.Lots[id]; l != nil && l.Item == r.Item || l == nil && !f.named(id) {
			return id
		}
	}
}
