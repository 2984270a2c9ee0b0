package workflow

import (
	"cmp"
	"slices"

	"packwright/events"
)

// takeOutAsk takes pieces out of a carton into a tote; To empty: the bench's
// aside tote.
type takeOutAsk struct {
	cartonAsk
	pieces
	To   string `json:"to"`
	took []taken
}

func (in *takeOutAsk) check() error { return in.pieces.check() }

var takeOutRule = on(rule{Name: "take-out", Who: packers, Late: true, Moves: []Move{{"unit", "prepped", "prepped"}, {"unit", "contents-counted", "prepped"}, {"carton", "counting", "open"}, {"carton", "counted", "open"}}}, []gate[takeOutAsk]{
	{Gate{"a carton that is not under seal", "E-SEA-05", ""}, func(d *decision, in *takeOutAsk) *Refusal {
		if c := d.f.Cartons[in.Carton]; c != nil && c.State == CartonSealed {
			d.scope.Carton = in.Carton
			return refuse("E-SEA-05")
		}
		return nil
	}},
	{Gate{"an open carton; from an outbox, one not finished since", "E-CAR-10", ""}, func(d *decision, in *takeOutAsk) *Refusal {
		return d.openFor(&in.cartonAsk)
	}},
	mineGate[takeOutAsk](),
	{Gate{"a code of this floor", "E-CAR-06", ""}, func(d *decision, in *takeOutAsk) *Refusal { return d.read(&in.pieces) }},
	{Gate{"a label that is not cancelled", "E-CAR-07", ""}, func(d *decision, in *takeOutAsk) *Refusal {
		return d.liveUnits(&units{Marks: in.Marks})
	}},
	{Gate{"marked pieces are named by their labels", "E-OUT-06", ""}, func(d *decision, in *takeOutAsk) *Refusal {
		if len(in.Marks) > 0 {
			return nil
		}
		n, marked := 0, false
		for _, c := range d.f.Ledger.At(in.Carton) {
			if c.Item == in.Item {
				n, marked = n+c.N, marked || len(c.Marks) > 0
			}
		}
		if marked && n < max(in.Q, 1) {
			return refuse("E-OUT-06", in.Carton)
		}
		return nil
	}},
	{Gate{"so many are in the carton", "E-CAR-18", ""}, inside},
	{Gate{"one lot they can be of", "E-CAR-17", ""}, func(d *decision, in *takeOutAsk) *Refusal {
		if len(in.Marks) == 0 && len(in.took) > 1 {
			return refuse("E-CAR-17", in.Carton)
		}
		return nil
	}},
	{Gate{"the maker's serial, where the item has one", "E-CAR-15", ""}, func(d *decision, in *takeOutAsk) *Refusal {
		for _, s := range in.Serials {
			if !in.carton.Serials[serialKey(in.Item, s)] {
				return refuse("E-CAR-15")
			}
		}
		return d.serialsFor(&in.pieces)
	}},
	{Gate{"the tote is empty or holds the same lot at the same stage", "E-INT-02", ""}, func(d *decision, in *takeOutAsk) *Refusal {
		in.To = cmp.Or(in.To, d.station.Aside)
		for _, t := range in.took {
			if no := d.f.toteTakes(in.To, t.cell.Lot, events.Prepped); no != nil {
				return no
			}
		}
		return nil
	}},
}, func(d *decision, in *takeOutAsk) {
	d.reopenCount(in.carton, "taken out after it was finished")
	for _, t := range in.took {
		d.emit(&events.UnitTakenOut{Carton: in.Carton, Item: t.cell.Item, Lot: t.cell.Lot, To: in.To, Q: t.q, Marks: t.marks,
			Serials: in.Serials, Reason: in.Reason})
	}
})

// inside finds the cells in the carton that the pieces leave. A class piece
// does not show its lot: the lot named says it, or the tote it goes back to,
// or that there is but one.
func inside(d *decision, in *takeOutAsk) *Refusal {
	for _, m := range in.Marks {
		c := d.f.Ledger.Find(m)
		if c == nil || c.Place != in.Carton {
			return refuse("E-CAR-18", in.Carton)
		}
		i := slices.IndexFunc(in.took, func(t taken) bool { return t.cell == c })
		if i < 0 {
			i = len(in.took)
			in.took = append(in.took, taken{cell: c})
		}
		in.took[i].q++
		in.took[i].marks = append(in.took[i].marks, m)
	}
	if len(in.Marks) > 0 {
		return nil
	}
	in.Q = max(in.Q, 1)
	lot := in.Lot
	if there := d.f.Ledger.At(in.To); lot == "" && len(there) == 1 {
		lot = there[0].Lot
	}
	total := 0
	for _, c := range d.f.Ledger.At(in.Carton) {
		if c.Item != in.Item || c.N == 0 || c.Stage == events.Unmarked {
			continue
		}
		if total += c.N; c.N >= in.Q && (lot == "" || lot == c.Lot) {
			in.took = append(in.took, taken{cell: c, q: in.Q})
		}
	}
	if len(in.took) == 0 {
		return refuse("E-CAR-18", in.Carton)
	}
	return nil
}
