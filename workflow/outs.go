package workflow

import (
	"packwright/events"
	"packwright/prep"
)

type divertAsk struct {
	units
	Channel string `json:"channel"`
	Reason  string `json:"reason"`
	hold    *Hold
}

func (in *divertAsk) check() error {
	if in.Channel == "" || in.Reason == "" {
		return prep.Input("the channel or the reason is missing", "say where they go, and why")
	}
	return nil
}

func (in *divertAsk) leaves() **Hold { return &in.hold }

type writeOffAsk struct {
	units
	Reason string `json:"reason"`
	hold   *Hold
}

func (in *writeOffAsk) check() error {
	if in.Reason == "" {
		return prep.Input("the write-off has no reason", "say what happened")
	}
	return nil
}

func (in *writeOffAsk) leaves() **Hold { return &in.hold }

type unaccountedAsk struct {
	units
	LastSeen string `json:"last_seen"` // empty: where the books have them
	Second   string `json:"second"`    // the other of supervisor and owner
	hold     *Hold
}

func (in *unaccountedAsk) leaves() **Hold { return &in.hold }

type unDivertAsk struct {
	Lot    string `json:"lot"`
	Q      int    `json:"q"`
	Tote   string `json:"tote"` // scanned: the piece is really here
	Reason string `json:"reason"`
	lot    *Lot
}

func (in *unDivertAsk) check() error {
	if in.Reason == "" {
		return prep.Input("the return has no reason", "say why they come back")
	}
	return nil
}

// outOf is an ask whose units may leave a hold.
type outOf[T any] interface {
	picks[T]
	leaves() **Hold
}

// theHold finds the hold that units on hold leave: named, or the only one their place and lot tell.
func theHold[T any, P outOf[T]]() gate[T] {
	return gate[T]{Gate{"for units on hold, which hold", "E-HLD-04", ""}, func(d *decision, in *T) *Refusal {
		u := P(in).picked()
		if u.Stage != events.Held {
			return nil
		}
		var found []*Hold
		for _, h := range d.f.Holds {
			if h.Lot == u.Lot && h.Place == u.From && (u.Hold == "" || u.Hold == h.Hold) && h.has(u.Q, u.Marks) {
				found = append(found, h)
			}
		}
		if len(found) != 1 {
			return refuse("E-HLD-04", u.From)
		}
		*P(in).leaves(), u.Hold = found[0], found[0].Hold
		return nil
	}}
}

// safeHands: what is held for safety is moved on by a licence holder only, what
// is held otherwise by whoever could release it.
func safeHands[T any, P outOf[T]]() []gate[T] {
	return []gate[T]{
		{Gate{"held for safety: the badge of a licence holder", "E-HLD-01", ""}, func(d *decision, in *T) *Refusal {
			if h := *P(in).leaves(); h != nil {
				return d.licensed(h)
			}
			return nil
		}},
		{Gate{"held otherwise: a supervisor", "E-AUT-01", ""}, func(d *decision, in *T) *Refusal {
			if h := *P(in).leaves(); h != nil {
				return d.mayRelease(h)
			}
			return nil
		}},
	}
}

// cost is what the units of an ask are worth.
func (d *decision) cost(u *units) prep.Money { return d.f.worth(d.f.Lots[u.Lot], u.Q) }

// outMoves are the arrows from every stage at hand, and from held, to an exit.
func outMoves(to string) (out []Move) {
	for _, s := range atHandOrHeld {
		out = append(out, Move{"unit", string(s), to})
	}
	return out
}

// both gives lists of gates as one.
func both[T any](lists ...[]gate[T]) (all []gate[T]) {
	for _, l := range lists {
		all = append(all, l...)
	}
	return all
}

var outRules = []rule{
	on(rule{Name: "divert", Who: packers, Late: true, Moves: outMoves("diverted")}, both(
		unitGates[divertAsk](atHandOrHeld), []gate[divertAsk]{theHold[divertAsk]()}, safeHands[divertAsk](), []gate[divertAsk]{
			{Gate{"above the packer's limit a supervisor", "E-OUT-02", ""}, func(d *decision, in *divertAsk) *Refusal {
				return d.withinPackers(d.cost(&in.units))
			}},
		}), func(d *decision, in *divertAsk) {
		d.emit(&events.UnitsDiverted{Lot: in.Lot, Item: in.cell.Item, Stage: in.Stage, From: in.From, Q: in.Q, Marks: in.Marks,
			Hold: in.Hold, Channel: in.Channel, Reason: in.Reason, Cost: d.cost(&in.units)})
	}),

	on(rule{Name: "write-off", Who: supervisors, Moves: outMoves("written-off")}, both(
		unitGates[writeOffAsk](atHandOrHeld), []gate[writeOffAsk]{theHold[writeOffAsk]()}, safeHands[writeOffAsk]()[:1], []gate[writeOffAsk]{
			{Gate{"above the supervisor's limit the owner", "E-OUT-03", ""}, func(d *decision, in *writeOffAsk) *Refusal {
				return d.withinSupervisors(d.cost(&in.units))
			}},
		}), func(d *decision, in *writeOffAsk) {
		d.emit(&events.UnitsWrittenOff{Lot: in.Lot, Item: in.cell.Item, Stage: in.Stage, From: in.From, Q: in.Q, Marks: in.Marks,
			Hold: in.Hold, Reason: in.Reason, Cost: d.cost(&in.units)})
	}),

	on(rule{Name: "declare-unaccounted", Who: supervisors, Moves: outMoves("unaccounted")}, both(
		unitGates[unaccountedAsk](atHandOrHeld), []gate[unaccountedAsk]{theHold[unaccountedAsk](),
			{Gate{"supervisor and owner agree", "E-AUT-03", ""}, func(d *decision, in *unaccountedAsk) *Refusal {
				return d.bothAgree(in.Second)
			}},
		}), func(d *decision, in *unaccountedAsk) {
		if in.LastSeen == "" {
			in.LastSeen = in.From
		}
		d.emit(&events.UnitsUnaccounted{Lot: in.Lot, Item: in.cell.Item, Stage: in.Stage, From: in.From, Q: in.Q, Marks: in.Marks,
			Hold: in.Hold, LastSeen: in.LastSeen, Second: in.Second})
	}),

	on(rule{Name: "un-divert", Who: supervisors, Moves: []Move{{"unit", "diverted", "received"}}}, []gate[unDivertAsk]{
		{Gate{"a lot of this floor", "E-INT-01", ""}, func(d *decision, in *unDivertAsk) *Refusal {
			if in.lot = d.f.Lots[in.Lot]; in.lot == nil {
				return refuse("E-INT-01", in.Lot)
			}
			d.scope.Lot = in.Lot
			return nil
		}},
		{Gate{"its tote was scanned", "E-OUT-04", ""}, func(d *decision, in *unDivertAsk) *Refusal {
			if in.Tote == "" {
				return refuse("E-OUT-04")
			}
			return nil
		}},
		{Gate{"no more than were diverted", "E-INT-05", ""}, func(d *decision, in *unDivertAsk) *Refusal {
			if in.Q < 1 || in.Q > d.f.Ledger.N(Key{Lot: in.Lot, Stage: events.Diverted}) {
				return refuse("E-INT-05", in.Q)
			}
			return nil
		}},
		{Gate{"the tote is empty or holds the same lot at the same stage", "E-INT-02", "mixed-lots"}, func(d *decision, in *unDivertAsk) *Refusal {
			return d.f.toteTakes(in.Tote, in.Lot, events.Received)
		}},
	}, func(d *decision, in *unDivertAsk) {
		d.emit(&events.UnitsReturnedToFloor{Lot: in.Lot, Item: in.lot.Item, Tote: in.Tote, Q: in.Q, Reason: in.Reason})
	}),
}

// bothAgree asks for a supervisor and the owner, two people; a house of one
// person has only the owner.
func (d *decision) bothAgree(second string) *Refusal {
	if d.f.policy.Persons == 1 && d.may(events.Owner) {
		return nil
	}
	if d.may(events.Owner) && d.second(second, events.Supervisor) || d.may(events.Supervisor) && d.second(second, events.Owner) {
		return nil
	}
	return refuse("E-AUT-03")
}
