package workflow

import (
	"cmp"
	"slices"

	"packwright/events"
	"packwright/prep"
)

// cartonAsk is what every command about a carton says first.
type cartonAsk struct {
	Carton string `json:"carton"`
	Reason string `json:"reason"`
	carton *Carton
}

func (a *cartonAsk) named() *cartonAsk { return a }

// ofCarton is an ask that embeds cartonAsk.
type ofCarton[T any] interface {
	*T
	named() *cartonAsk
}

// cartonGate makes a gate of a test about the carton alone.
func cartonGate[T any, P ofCarton[T]](g Gate, shut func(*decision, *Carton) *Refusal) gate[T] {
	return gate[T]{g, func(d *decision, in *T) *Refusal { return shut(d, P(in).named().carton) }}
}

// cartonIn is the gate that a carton is known and in one of some states.
func cartonIn[T any, P ofCarton[T]](needs string, code Code, states ...CartonState) gate[T] {
	return gate[T]{Gate{needs, code, ""}, func(d *decision, in *T) *Refusal {
		a := P(in).named()
		if a.carton = d.f.Cartons[a.Carton]; a.carton == nil {
			return refuseCarton(code, cmp.Or(a.Carton, "That carton"))
		}
		d.scope.Carton = a.Carton
		if !slices.Contains(states, a.carton.State) {
			return refuseCarton(code, a.Carton)
		}
		return nil
	}}
}

// refuseCarton fills the carton into a text that names it, or not.
func refuseCarton(code Code, carton string) *Refusal {
	if t := texts[code]; verbs(t.what)+verbs(t.next) == 0 {
		return refuse(code)
	}
	return refuse(code, carton)
}

// mineGate: one bench owns a carton while it is open.
func mineGate[T any, P ofCarton[T]]() gate[T] {
	return cartonGate[T, P](Gate{"the carton is at this bench", "E-CAR-03", ""}, func(d *decision, c *Carton) *Refusal {
		if c.Bench != d.id.Station {
			return refuse("E-CAR-03", c.Carton, c.Bench)
		}
		return nil
	})
}

// onlineGate: counting, sealing and loading are never taken from an outbox, for
// what they rest on may have changed since.
func onlineGate[T any]() gate[T] {
	return gate[T]{Gate{"the bench is in touch with the hub", "E-SYS-01", ""}, func(d *decision, in *T) *Refusal {
		if d.c.Offline {
			return refuse("E-SYS-01")
		}
		return nil
	}}
}

var inHand = []CartonState{CartonOpen, CartonCounting, CartonCounted}

type openCartonAsk struct {
	cartonAsk
	Plan   string    `json:"plan"`
	Box    string    `json:"box_material"`
	MatLot string    `json:"matlot"`
	Tare   prep.Mass `json:"tare_g"`
	plan   *Plan
}

func (in *openCartonAsk) check() error {
	if in.Tare < 0 {
		return prep.Input("an empty carton does not weigh less than nothing", "weigh the empty carton")
	}
	return nil
}

type handOverCartonAsk struct {
	cartonAsk
	To string `json:"to"`
}

// cartonRules are what hands do with a carton before it is finished.
var cartonRules = []rule{openCartonRule, placeRule, takeOutRule,
	on(rule{Name: "void-carton", Who: supervisors, Moves: []Move{{"carton", "planned", "void"}, {"carton", "open", "void"}}}, []gate[cartonAsk]{
		cartonIn[cartonAsk]("a carton that is planned or in hand", "E-CAR-10", CartonPlanned, CartonOpen, CartonCounting, CartonCounted, CartonVoid),
		cartonGate[cartonAsk](Gate{"the carton is empty", "E-CAR-13", ""}, func(d *decision, c *Carton) *Refusal {
			if d.f.Ledger.QtyAt(c.Carton) > 0 {
				return refuse("E-CAR-13", c.Carton)
			}
			return nil
		}),
	}, func(d *decision, in *cartonAsk) {
		if in.carton.State == CartonVoid {
			return
		}
		d.emit(&events.CartonVoided{Carton: in.Carton, Reason: in.Reason})
	}),

	on(rule{Name: "hand-over-carton", Who: packers}, []gate[handOverCartonAsk]{
		cartonIn[handOverCartonAsk]("a carton in hand", "E-CAR-10", inHand...),
		cartonGate[handOverCartonAsk](Gate{"the carton is at this bench, or a supervisor moves it", "E-CAR-03", ""}, func(d *decision, c *Carton) *Refusal {
			if c.Bench != d.id.Station && !d.may(events.Supervisor, events.Owner) {
				return refuse("E-CAR-03", c.Carton, c.Bench)
			}
			return nil
		}),
		{Gate{"a bench of this floor", "E-SYS-07", ""}, func(d *decision, in *handOverCartonAsk) *Refusal {
			if d.f.Stations[in.To] == nil {
				return refuse("E-SYS-07", "Bench "+in.To)
			}
			return nil
		}},
	}, func(d *decision, in *handOverCartonAsk) {
		if in.carton.Bench != in.To {
			d.emit(&events.CartonHandedOver{Carton: in.Carton, From: in.carton.Bench, To: in.To})
		}
	}),
}

var openCartonRule = on(rule{Name: "open-carton", Who: packers, Moves: []Move{{"carton", "planned", "open"}}}, []gate[openCartonAsk]{
	{Gate{"the plan named is in force", "E-PLN-01", ""}, func(d *decision, in *openCartonAsk) *Refusal {
		if in.Plan != "" && d.f.Plans[in.Plan] == nil {
			return refuse("E-PLN-01", in.Plan)
		}
		return nil
	}},
	{Gate{"a carton of that plan", "E-SYS-07", ""}, func(d *decision, in *openCartonAsk) *Refusal {
		if in.carton = d.f.Cartons[in.Carton]; in.carton != nil {
			d.scope.Carton = in.Carton
			in.plan = d.f.planOf(in.carton)
		}
		if in.plan == nil || in.Plan != "" && in.Plan != in.plan.Plan {
			return refuse("E-SYS-07", "Carton "+in.Carton)
		}
		return nil
	}},
	cartonGate[openCartonAsk](Gate{"the carton is not closed or void", "E-SEA-08", ""}, func(d *decision, c *Carton) *Refusal {
		if c.State != CartonPlanned && !slices.Contains(inHand, c.State) {
			return refuse("E-SEA-08", c.Carton, c.State)
		}
		return nil
	}),
	cartonGate[openCartonAsk](Gate{"the carton is open at no other bench", "E-CAR-03", ""}, func(d *decision, c *Carton) *Refusal {
		if c.Bench != "" && c.Bench != d.id.Station {
			return refuse("E-CAR-03", c.Carton, c.Bench)
		}
		return nil
	}),
	{notBlocked, func(d *decision, in *openCartonAsk) *Refusal { return d.f.notBlocked(in.MatLot) }},
}, func(d *decision, in *openCartonAsk) {
	if in.carton.State == CartonPlanned {
		d.emit(&events.CartonOpened{Carton: in.Carton, Plan: in.plan.Plan, Rev: in.plan.Rev, Box: in.Box, MatLot: in.MatLot, Tare: in.Tare})
	}
})
