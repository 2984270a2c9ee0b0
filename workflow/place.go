package workflow

import (
	"cmp"
	"fmt"
	"slices"

	"packwright/events"
	"packwright/prep"
)

// placeAsk puts units into a carton: the piece with that code, q alike of a
// tote, the marks, or all a tote holds.
type placeAsk struct {
	cartonAsk
	pieces
	From string `json:"from"`
	Pour bool   `json:"pour"`
	want int    // of the item, by the plan
	took []taken
}

func (in *placeAsk) check() error {
	if err := in.pieces.check(); err != nil {
		return err
	}
	if in.Pour && (in.From == "" || in.Q > 0 || len(in.Marks) > 0) {
		return prep.Input("pouring empties one tote", "give from, and no quantity or marks")
	}
	return nil
}

// taken are units of one cell on their way into or out of a carton.
type taken struct {
	cell  *Cell
	q     int
	marks prep.Marks
}

// placeRule: the gates speak in the order in which a person can do something
// about them: the carton, the code, the plan, the piece, the house.
var placeRule = on(rule{Name: "place", Who: packers, Late: true, Moves: []Move{{"unit", "prepped", "prepped"}, {"unit", "contents-counted", "prepped"}, {"carton", "counting", "open"}, {"carton", "counted", "open"}}}, []gate[placeAsk]{
	{Gate{"an open carton; from an outbox, one not finished since", "E-CAR-10", ""}, func(d *decision, in *placeAsk) *Refusal {
		return d.openFor(&in.cartonAsk)
	}},
	mineGate[placeAsk](),
	{Gate{"a code of this floor", "E-CAR-06", ""}, func(d *decision, in *placeAsk) *Refusal {
		if in.Pour && in.Item == "" && in.Code == "" {
			if in.Item = d.f.onlyItem(in.From); in.Item == "" {
				return refuse("E-CAR-12", in.From)
			}
		}
		return d.read(&in.pieces)
	}},
	{Gate{"a label that is not cancelled", "E-CAR-07", ""}, func(d *decision, in *placeAsk) *Refusal {
		return d.liveUnits(&units{Marks: in.Marks})
	}},
	{Gate{"a piece that is in no carton and has not left", "E-CAR-04", ""}, elsewhere},
	{Gate{"an item of an open carton's plan", "E-CAR-11", ""}, func(d *decision, in *placeAsk) *Refusal {
		in.want = d.f.wanted(in.carton, in.Item)
		if in.Item != "" && in.want == 0 && d.f.belongs(in.Item, "", in.Carton) == nil {
			return refuse("E-CAR-11")
		}
		return nil
	}},
	{Gate{"an item of this carton's plan", "E-CAR-01", ""}, func(d *decision, in *placeAsk) *Refusal {
		if in.Item != "" && in.want == 0 {
			return refuse("E-CAR-01", in.Carton, whereabouts(d.f.belongs(in.Item, "", in.Carton)))
		}
		return nil
	}},
	{Gate{"room on its line", "E-CAR-02", ""}, func(d *decision, in *placeAsk) *Refusal {
		if in.Item != "" && d.f.scanned(in.carton, in.Item)+max(in.Q, 1) > in.want {
			return refuse("E-CAR-02", in.Carton)
		}
		return nil
	}},
	{Gate{"a prepped piece", "E-CAR-05", ""}, readyPieces},
	{Gate{"one tote or lot that it can come from", "E-CAR-16", ""}, func(d *decision, in *placeAsk) *Refusal {
		if len(in.Marks) == 0 && len(in.took) > 1 && !in.Pour {
			return refuse("E-CAR-16")
		}
		return nil
	}},
	{Gate{"marked pieces are named by their labels", "E-OUT-06", ""}, func(d *decision, in *placeAsk) *Refusal {
		if t := in.took[0]; len(in.Marks) == 0 && t.cell.N < t.q && t.cell.Qty() >= t.q {
			return refuse("E-OUT-06", t.cell.Place)
		}
		return nil
	}},
	{Gate{"so many are in the tote, and on the line", "E-CAR-12", ""}, func(d *decision, in *placeAsk) *Refusal {
		for _, t := range in.took {
			if len(t.marks) == 0 && t.cell.N < t.q {
				return refuse("E-CAR-12", t.cell.Place)
			}
		}
		if in.Pour && d.f.scanned(in.carton, in.Item)+in.Q > in.want {
			return refuse("E-CAR-02", in.Carton)
		}
		return nil
	}},
	{Gate{"prepped by rules that are not blocked", "E-CAR-05", "unprepped"}, func(d *decision, in *placeAsk) *Refusal {
		for _, t := range in.took {
			if b := d.f.blockedFor(t); b != nil {
				return refuse("E-CAR-05", fmt.Sprintf("rules r%d are blocked", b.Rev))
			}
		}
		return nil
	}},
	{Gate{"goods of the line's owner, and no other's in this carton", "E-CAR-08", ""}, ownGoods},
	{Gate{"best-before far enough ahead", "E-CAR-09", "short-life"}, freshEnough},
	{Gate{"one best-before date for each line", "E-CAR-14", "mixed-lots"}, oneDate},
	{Gate{"the maker's serial, where the item has one", "E-CAR-15", ""}, func(d *decision, in *placeAsk) *Refusal {
		return d.serialsFor(&in.pieces)
	}},
}, func(d *decision, in *placeAsk) {
	d.reopenCount(in.carton, "placed after it was finished")
	for _, t := range in.took {
		e := d.emit(&events.UnitPlaced{Carton: in.Carton, Item: t.cell.Item, Lot: t.cell.Lot, Run: d.f.runOf(t), From: t.cell.Place,
			Q: t.q, Marks: t.marks, Serials: in.Serials, Pour: in.Pour})
		if t.q > 1 && len(t.marks) == 0 && !in.Pour && e.Basis == events.Scan {
			e.Basis = events.Keyed // one scan and a number card
		}
	}
})

// openFor finds a carton that takes pieces. One that was finished takes them
// too, and is open again; but hands that were away did not know of it.
func (d *decision) openFor(a *cartonAsk) *Refusal {
	c := d.f.Cartons[a.Carton]
	if a.carton = c; c == nil {
		return refuse("E-CAR-10", cmp.Or(a.Carton, "That carton"))
	}
	d.scope.Carton = a.Carton
	if c.State == CartonOpen || slices.Contains(inHand, c.State) && !d.c.Offline {
		return nil
	}
	return refuse("E-CAR-10", a.Carton)
}

// reopenCount ends a count or certificate before the contents change.
func (d *decision) reopenCount(c *Carton, why string) {
	if c.Count != nil || c.Cert != nil {
		d.follow(&events.CountVoided{Carton: c.Carton, Why: why})
	}
}

// elsewhere refuses a piece that is in a carton or gone. In this very carton it
// is harmless: the scan was heard twice.
func elsewhere(d *decision, in *placeAsk) *Refusal {
	here := 0
	for _, m := range in.Marks {
		cell := d.f.Ledger.Find(m)
		switch {
		case cell == nil && d.f.Spent.Has(m):
			return refuse("E-CAR-04", d.f.leftIn(m))
		case cell == nil || d.f.Cartons[cell.Place] == nil:
		case cell.Place == in.Carton:
			here++
		default:
			return refuse("E-CAR-04", cell.Place)
		}
	}
	for _, s := range in.Serials {
		if c := d.f.serialIn(in.Item, s); c == in.Carton {
			here++
		} else if c != "" {
			return refuse("E-CAR-04", c)
		}
	}
	switch {
	case here > 0 && here == len(in.Marks)+len(in.Serials):
		return again(refuse("E-CAR-04", in.Carton))
	case here > 0:
		return refuse("E-CAR-04", in.Carton)
	}
	return nil
}

// readyPieces finds the cells the pieces come from, at stage prepped.
func readyPieces(d *decision, in *placeAsk) *Refusal {
	if len(in.Marks) > 0 {
		return d.markedCells(in)
	}
	ready, other := d.f.cellsOf(in.Item, in.From, in.Lot)
	if in.From == "" {
		ready = d.f.nearest(ready, d.id.Station)
	}
	if len(ready) == 0 {
		if len(other) == 0 && in.From != "" {
			return refuse("E-CAR-12", in.From)
		}
		return refuse("E-CAR-05", d.f.missing(other))
	}
	if !in.Pour {
		in.Q = max(in.Q, 1)
		for _, c := range ready {
			in.took = append(in.took, taken{cell: c, q: in.Q})
		}
		return nil
	}
	for _, c := range ready {
		if c.N > 0 {
			in.took = append(in.took, taken{cell: c, q: c.N})
		}
		if len(c.Marks) > 0 {
			in.took = append(in.took, taken{cell: c, q: len(c.Marks), marks: slices.Clone(c.Marks)})
		}
		in.Q += c.Qty()
	}
	return nil
}
