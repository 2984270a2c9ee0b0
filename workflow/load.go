package workflow

import (
	"cmp"
	"fmt"
	"slices"

	"packwright/events"
	"packwright/prep"
)

type openLoadAsk struct {
	Load string      `json:"load"`
	Due  events.Time `json:"due"`
}

func (in *openLoadAsk) check() error {
	if !plainWord(in.Load) {
		return prep.Input("the load has no number", "name it with letters, digits and hyphens, as in LD-1")
	}
	return nil
}

type closeLoadAsk struct {
	Load string `json:"load"`
	load *Load
}

type dispatchAsk struct {
	cartonAsk
	Load string `json:"load"` // empty: the only one that is open
	Seen string `json:"seal_no_seen"`
	load *Load
}

// loadRules put sealed cartons on trucks.
var loadRules = []rule{
	on(rule{Name: "open-load", Who: supervisors, Moves: []Move{{"load", "", "open"}}}, []gate[openLoadAsk]{
		{Gate{"a new load number", "E-DSP-04", ""}, func(d *decision, in *openLoadAsk) *Refusal {
			if d.f.Loads[in.Load] == nil && d.f.named(in.Load) {
				return refuse("E-DSP-04", in.Load)
			}
			return nil
		}},
	}, func(d *decision, in *openLoadAsk) {
		if d.f.Loads[in.Load] == nil {
			d.emit(&events.LoadOpened{Load: in.Load, Due: in.Due})
		}
	}),

	on(rule{Name: "dispatch", Who: packers, Moves: []Move{{"carton", "sealed", "dispatched"}, {"unit", "sealed", "dispatched"}}}, []gate[dispatchAsk]{
		onlineGate[dispatchAsk](),
		{Gate{"an open load", "E-DSP-03", ""}, func(d *decision, in *dispatchAsk) *Refusal {
			if in.Load == "" && len(d.f.Loads) == 1 {
				for in.Load = range d.f.Loads {
				}
			}
			if in.load = d.f.Loads[in.Load]; in.load == nil {
				return refuse("E-DSP-03", cmp.Or(in.Load, "(none)"))
			}
			return nil
		}},
		{Gate{"a carton that is on no load yet", "E-SEA-08", ""}, func(d *decision, in *dispatchAsk) *Refusal {
			c := d.f.Cartons[in.Carton]
			if c == nil || c.State != CartonDispatched {
				return nil
			}
			d.scope.Carton = in.Carton
			no := refuse("E-SEA-08", in.Carton, CartonDispatched)
			if c.Load == in.Load && c.Seal == in.Seen {
				return again(no)
			}
			return no
		}},
		cartonIn[dispatchAsk]("a sealed carton", "E-DSP-02", CartonSealed),
		cartonGate[dispatchAsk](Gate{"no open question", "E-SEA-04", ""}, (*decision).questioned),
	}, func(d *decision, in *dispatchAsk) {
		if in.Seen != in.carton.Seal {
			id := d.raise(events.SealBroken, events.Scope{Carton: in.Carton}, events.Evidence{}, true)
			d.follow(&events.MismatchNoted{Mismatch: id, Text: fmt.Sprintf("seal on the box %q, recorded %q", in.Seen, in.carton.Seal)})
			d.calls("E-DSP-01", in.Seen, in.carton.Seal)
			return
		}
		d.emit(&events.CartonDispatched{Carton: in.Carton, Load: in.Load, Seal: in.Seen})
	}),

	on(rule{Name: "cancel-dispatch", Who: supervisors, Moves: []Move{{"carton", "dispatched", "sealed"}, {"unit", "dispatched", "sealed"}}}, []gate[cartonAsk]{
		onlineGate[cartonAsk](),
		cartonIn[cartonAsk]("a carton on a load that has not left", "E-DSP-05", CartonDispatched),
		{Gate{"a reason", "E-AUT-05", ""}, func(d *decision, in *cartonAsk) *Refusal {
			if in.Reason == "" {
				return refuse("E-AUT-05")
			}
			return nil
		}},
	}, func(d *decision, in *cartonAsk) {
		d.emit(&events.DispatchCancelled{Carton: in.Carton, Load: in.carton.Load, Reason: in.Reason})
	}),

	on(rule{Name: "close-load", Who: supervisors, Moves: []Move{{"load", "open", ""}, {"carton", "dispatched", ""}, {"plan", "released", ""}, {"plan", "amended", ""}}}, []gate[closeLoadAsk]{
		onlineGate[closeLoadAsk](),
		{Gate{"an open load", "E-DSP-03", ""}, func(d *decision, in *closeLoadAsk) *Refusal {
			if in.load = d.f.Loads[in.Load]; in.load == nil {
				return refuse("E-DSP-03", in.Load)
			}
			return nil
		}},
	}, closeLoad),
}

// closeLoad: the truck has left. Sealed cartons that are not on a load wait for
// the next one; plans of which nothing is left to send are over.
func closeLoad(d *decision, in *closeLoadAsk) {
	closed := &events.LoadClosed{Load: in.Load}
	for code, c := range d.f.Cartons {
		if c.State == CartonSealed {
			closed.Left = append(closed.Left, code)
		}
	}
	slices.Sort(closed.Left)
	d.emit(closed)
	var over []*events.PlanClosed
	for _, p := range d.f.Plans {
		if done := d.f.planDone(p, in.Load); done != nil {
			over = append(over, done)
		}
	}
	slices.SortFunc(over, func(a, b *events.PlanClosed) int { return cmp.Compare(a.Plan, b.Plan) })
	for _, e := range over {
		d.follow(e)
	}
}
