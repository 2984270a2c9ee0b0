package workflow

import (
	"cmp"

	"packwright/events"
	"packwright/prep"
)

type announceAsk struct {
	Lot      string      `json:"lot"`
	Kind     string      `json:"kind"`
	Item     string      `json:"item"`
	Owner    string      `json:"owner"`
	Source   string      `json:"source_ref"`
	Origin   prep.Mark   `json:"origin_mark"`
	Qty      int         `json:"qty"`
	UnitCost prep.Money  `json:"unit_cost"`
	Due      events.Time `json:"due"`
}

type receiveAsk struct {
	Lot       string `json:"lot"`
	Tote      string `json:"tote"`
	Qty       int    `json:"qty"`
	CountedBy string `json:"counted_by"`
	Batch     string `json:"batch"`
	Expiry    string `json:"expiry"`
	Note      string `json:"note"`
	lot       *Lot
}

type closeIntakeAsk struct {
	Lot string `json:"lot"`
	lot *Lot
}

type correctReceiptAsk struct {
	Lot    string       `json:"lot"`
	Stage  events.Stage `json:"stage"`
	Place  string       `json:"place"`
	Delta  int          `json:"delta"`
	Reason string       `json:"reason"`
	lot    *Lot
}

func (in *announceAsk) check() error {
	if !plainWord(in.Lot) {
		return prep.Input("the lot has no number", "name it with letters, digits and hyphens, as in L-14")
	}
	if in.UnitCost < 0 {
		return prep.Input("a unit does not cost less than nothing", "give unit_cost in minor units")
	}
	return nil
}

func (in *correctReceiptAsk) check() error {
	if in.Reason == "" {
		return prep.Input("the correction has no reason", "say why the receipt was wrong")
	}
	return nil
}

// intakeRules bring goods onto the floor.
var intakeRules = []rule{
	on(rule{Name: "announce", Who: askers, Moves: []Move{{"lot", "", "announced"}}}, []gate[announceAsk]{
		{Gate{"a lot number that names nothing yet", "E-INT-03", ""}, func(d *decision, in *announceAsk) *Refusal {
			if d.f.named(in.Lot) {
				return refuse("E-INT-03", in.Lot)
			}
			return nil
		}},
		{Gate{"an item of the catalogue", "E-INT-06", ""}, func(d *decision, in *announceAsk) *Refusal {
			if d.f.Items[in.Item] == nil {
				return refuse("E-INT-06", in.Item)
			}
			return nil
		}},
		{Gate{"a quantity over 0", "E-INT-05", ""}, func(d *decision, in *announceAsk) *Refusal {
			if in.Qty < 1 {
				return refuse("E-INT-05", in.Qty)
			}
			return nil
		}},
		{Gate{"a client announces own goods only", "E-AUT-01", ""}, func(d *decision, in *announceAsk) *Refusal {
			if !d.may(events.Supervisor, events.Owner) && d.badge.OwnerOf != in.Owner {
				return refuse("E-AUT-01")
			}
			return nil
		}},
	}, func(d *decision, in *announceAsk) {
		if in.Kind == "" {
			in.Kind = "bought"
		}
		d.emit(&events.LotAnnounced{Lot: in.Lot, Kind: in.Kind, Item: in.Item, Owner: in.Owner, Source: in.Source,
			Origin: in.Origin, Qty: in.Qty, UnitCost: in.UnitCost, Due: in.Due})
	}),

	on(rule{Name: "receive", Who: packers, Late: true, Moves: []Move{{"unit", "", "received"}, {"lot", "announced", "arriving"}}}, []gate[receiveAsk]{
		{Gate{"the lot is announced", "E-INT-01", ""}, func(d *decision, in *receiveAsk) *Refusal {
			if in.lot = d.f.Lots[in.Lot]; in.lot == nil {
				return refuse("E-INT-01", in.Lot)
			}
			d.scope.Lot = in.Lot
			return nil
		}},
		{Gate{"intake of the lot is not closed", "E-INT-04", ""}, func(d *decision, in *receiveAsk) *Refusal {
			if in.lot.Closed {
				return refuse("E-INT-04", in.Lot)
			}
			return nil
		}},
		{Gate{"a quantity over 0", "E-INT-05", ""}, func(d *decision, in *receiveAsk) *Refusal {
			if in.Qty < 1 {
				return refuse("E-INT-05", in.Qty)
			}
			return nil
		}},
		{Gate{"the tote is empty or holds the same lot at the same stage", "E-INT-02", "mixed-lots"}, func(d *decision, in *receiveAsk) *Refusal {
			in.Tote = d.f.toteFor(in.Tote, in.Lot)
			return d.f.toteTakes(in.Tote, in.Lot, events.Received)
		}},
	}, func(d *decision, in *receiveAsk) {
		by := in.CountedBy
		if by == "" {
			by = d.badge.Badge
		}
		d.emit(&events.LotReceived{Lot: in.Lot, Item: in.lot.Item, Tote: in.Tote, Qty: in.Qty, CountedBy: by,
			Batch: in.Batch, Expiry: in.Expiry, Note: in.Note})
	}),

	on(rule{Name: "close-intake", Who: supervisors, Moves: []Move{{"lot", "arriving", "closed"}}}, []gate[closeIntakeAsk]{
		{Gate{"the lot is announced", "E-INT-01", ""}, func(d *decision, in *closeIntakeAsk) *Refusal {
			if in.lot = d.f.Lots[in.Lot]; in.lot == nil {
				return refuse("E-INT-01", in.Lot)
			}
			return nil
		}},
	}, func(d *decision, in *closeIntakeAsk) {
		switch l := in.lot; {
		case l.Closed:
		case l.Received < l.Expected:
			d.emit(&events.LotShortfallNoted{Lot: l.Lot, Expected: l.Expected, Received: l.Received})
		case l.Received > l.Expected:
			d.emit(&events.LotOverageNoted{Lot: l.Lot, Expected: l.Expected, Received: l.Received})
		} // equal: all that was announced has come, and there is nothing to say
	}),

	on(rule{Name: "correct-receipt", Who: supervisors, Moves: []Move{{"unit", "", "received"}, {"unit", "", "triaged"}}}, []gate[correctReceiptAsk]{
		{Gate{"the lot is announced", "E-INT-01", ""}, func(d *decision, in *correctReceiptAsk) *Refusal {
			if in.lot = d.f.Lots[in.Lot]; in.lot == nil {
				return refuse("E-INT-01", in.Lot)
			}
			d.scope.Lot = in.Lot
			return nil
		}},
		{Gate{"the pieces to take away are there", "E-INT-05", ""}, func(d *decision, in *correctReceiptAsk) *Refusal {
			if in.Stage == "" {
				in.Stage = events.Received
			}
			in.Place = d.f.toteFor(in.Place, in.Lot)
			early := in.Stage == events.Received || in.Stage == events.Triaged
			if !early || in.Delta == 0 || d.f.Ledger.N(Key{in.Lot, in.Stage, in.Place})+in.Delta < 0 {
				return refuse("E-INT-05", in.Delta)
			}
			return nil
		}},
		{Gate{"the tote is empty or holds the same lot at the same stage", "E-INT-02", ""}, func(d *decision, in *correctReceiptAsk) *Refusal {
			return d.f.toteTakes(in.Place, in.Lot, in.Stage)
		}},
	}, func(d *decision, in *correctReceiptAsk) {
		d.emit(&events.LotCorrected{Lot: in.Lot, Item: in.lot.Item, Stage: in.Stage, Place: in.Place, Delta: in.Delta, Reason: in.Reason})
	}),
}

// toteFor gives the tote of a lot: the one named, or, in a house without totes,
// the lot's own.
func (f *Floor) toteFor(tote, lot string) string {
	if tote == "" && !f.policy.Totes {
		return lot
	}
	return tote
}

// toteTakes says whether units of a lot at a stage may go into a tote: one lot,
// one stage. A lot that is its own tote holds all its stages; an aside tote and
// a bench hold anything.
func (f *Floor) toteTakes(tote, lot string, stage events.Stage) *Refusal {
	if tote == lot && !f.policy.Totes || f.isAside(tote) || f.Stations[tote] != nil {
		return nil
	}
	if tote == "" || f.Cartons[tote] != nil {
		return refuse("E-SYS-07", cmp.Or(tote, "That tote"))
	}
	other := 0
	for _, c := range f.Ledger.At(tote) {
		if c.Lot != lot || c.Stage != stage {
			other += c.Qty()
		}
	}
	if other > 0 {
		return refuse("E-INT-02", tote, other)
	}
	return nil
}

// isAside says whether a place is the aside tote of a bench.
func (f *Floor) isAside(place string) bool {
	return len(place) > 2 && place[:2] == "A-" && f.Stations[place[2:]] != nil
}

func (f *Floor) lotAnnounced(e *events.Event, d *events.LotAnnounced) error {
	f.Lots[d.Lot] = &Lot{Lot: d.Lot, Kind: d.Kind, Item: d.Item, Owner: d.Owner, UnitCost: d.UnitCost, Origin: d.Origin, Expected: d.Qty}
	return nil
}

func (f *Floor) lotReceived(e *events.Event, d *events.LotReceived) error {
	l := f.Lots[d.Lot]
	if l == nil {
		return unplaced("lot", d.Lot)
	}
	f.tote(d.Tote)
	f.Ledger.put(Key{d.Lot, events.Received, d.Tote}, l.Item, d.Qty, nil)
	l.Received += d.Qty
	if d.Batch != "" {
		l.Batch = d.Batch
	}
	if d.Expiry != "" {
		l.Expiry = d.Expiry
	}
	return nil
}

func (f *Floor) lotShortfallNoted(e *events.Event, d *events.LotShortfallNoted) error {
	return f.closeLot(d.Lot)
}

func (f *Floor) lotOverageNoted(e *events.Event, d *events.LotOverageNoted) error {
	return f.closeLot(d.Lot)
}

func (f *Floor) closeLot(lot string) error {
	l := f.Lots[lot]
	if l == nil {
		return unplaced("lot", lot)
	}
	l.Closed = true
	return nil
}

func (f *Floor) lotCorrected(e *events.Event, d *events.LotCorrected) error {
	l := f.Lots[d.Lot]
	if l == nil {
		return unplaced("lot", d.Lot)
	}
	l.Received += d.Delta
	k := Key{d.Lot, d.Stage, d.Place}
	if d.Delta < 0 {
		return f.Ledger.take(k, -d.Delta, nil)
	}
	f.Ledger.put(k, l.Item, d.Delta, nil)
	return nil
}
