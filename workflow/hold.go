package workflow

import (
	"fmt"

	"packwright/events"
	"packwright/prep"
)

// holdAsk sets units aside. Hazard is the packer's own eyes; what the rulebook
// stops for safety is a hazard whether said or not.
type holdAsk struct {
	units
	Reason string `json:"reason"`
	Rule   string `json:"rule"`
	Hazard bool   `json:"hazard"`
}

func (in *holdAsk) check() error {
	if in.Reason == "" {
		return prep.Input("the hold has no reason", "say what is wrong with them")
	}
	return nil
}

// releaseAsk ends a hold, or part of it.
type releaseAsk struct {
	Hold    string     `json:"hold"`
	Q       int        `json:"q"` // 0 and no marks: all of it
	Marks   prep.Marks `json:"marks"`
	To      string     `json:"to"` // empty: where they came from
	Reason  string     `json:"reason"`
	Licence string     `json:"licence_ref"` // empty: the badge's
	hold    *Hold
}

func (in *releaseAsk) check() error {
	if in.Reason == "" {
		return prep.Input("the release has no reason", "say why they may go on")
	}
	return nil
}

var holdRules = []rule{
	on(rule{Name: "hold", Who: packers, Late: true, Moves: []Move{{"unit", "received", "held"}, {"unit", "triaged", "held"},
		{"unit", "prepped", "held"}, {"unit", "unmarked", "held"}}}, unitGates[holdAsk](atHand), decideHold),

	on(rule{Name: "release-hold", Who: packers, Moves: []Move{{"unit", "held", "received"}, {"unit", "held", "triaged"},
		{"unit", "held", "prepped"}, {"unit", "held", "unmarked"}}}, []gate[releaseAsk]{
		{Gate{"a hold there is", "E-HLD-02", ""}, func(d *decision, in *releaseAsk) *Refusal {
			if in.hold = d.f.Holds[in.Hold]; in.hold == nil {
				return refuse("E-HLD-02", in.Hold)
			}
			d.scope.Lot = in.hold.Lot
			return nil
		}},
		{Gate{"held for safety: the badge of a licence holder", "E-HLD-01", ""}, func(d *decision, in *releaseAsk) *Refusal {
			return d.licensed(in.hold)
		}},
		{Gate{"held otherwise: a supervisor", "E-AUT-01", ""}, func(d *decision, in *releaseAsk) *Refusal {
			return d.mayRelease(in.hold)
		}},
		{Gate{"no more than the hold has, and its own labels", "E-INT-05", ""}, releaseNumber},
		{Gate{"the tote is empty or holds the same lot at the same stage", "E-INT-02", "mixed-lots"}, func(d *decision, in *releaseAsk) *Refusal {
			if in.To == "" {
				in.To = in.hold.From
			}
			return d.f.toteTakes(in.To, in.hold.Lot, in.hold.Stage)
		}},
	}, func(d *decision, in *releaseAsk) {
		e := &events.HoldReleased{Hold: in.Hold, Lot: in.hold.Lot, Item: in.hold.Item, Stage: in.hold.Stage, From: in.hold.Place,
			To: in.To, Q: in.Q, Marks: in.Marks, Reason: in.Reason}
		if in.hold.Hazard {
			e.Licence = in.Licence
			if e.Licence == "" {
				e.Licence = d.badge.Licence
			}
		}
		d.emit(e)
	}),
}

// decideHold sets the units aside. Goods that safety stops after they had
// passed triage are a matter of their own: what else of that lot is about?
func decideHold(d *decision, in *holdAsk) {
	item := in.cell.Item
	says := d.f.ruling(item, prep.Attrs{})
	if in.Rule == "" {
		in.Rule = says.stop.Rule
	}
	hazard := in.Hazard || says.hazard
	d.emit(&events.UnitsHeld{Hold: d.nextHold(), Lot: in.Lot, Item: item, Stage: in.Stage, From: in.From, To: aside(d.id.Station),
		Q: in.Q, Marks: in.Marks, Reason: in.Reason, Rule: in.Rule, Hazard: hazard})
	if hazard && in.Stage != events.Received && !d.f.stoppedLot(in.Lot) {
		d.raise(events.HazStop, events.Scope{Lot: in.Lot}, events.Evidence{}, true)
		d.calls("E-HLD-01")
	}
}

// stoppedLot says whether a hazard of this lot is an open matter already.
func (f *Floor) stoppedLot(lot string) bool {
	for _, m := range f.Matters {
		if m.Kinds[0] == events.HazStop && m.Scopes[0].Lot == lot && m.Resolved.IsZero() {
			return true
		}
	}
	return false
}

// nextHold names the hold this decision makes.
func (d *decision) nextHold() string { return fmt.Sprintf("H-%02d", d.f.Next.Hold+1) }

// licensed refuses to let units held for safety go by a badge without a licence.
func (d *decision) licensed(h *Hold) *Refusal {
	if h.Hazard && d.badge.Licence == "" {
		return refuse("E-HLD-01")
	}
	return nil
}

func (d *decision) mayRelease(h *Hold) *Refusal {
	if !h.Hazard && !d.may(events.Supervisor, events.Owner) {
		return refuse("E-AUT-01")
	}
	return nil
}

func releaseNumber(d *decision, in *releaseAsk) *Refusal {
	h := in.hold
	if in.Q == 0 {
		in.Q = len(in.Marks)
	}
	if in.Q == 0 {
		in.Q, in.Marks = h.Q, h.Marks
	}
	if !h.has(in.Q, in.Marks) {
		return refuse("E-INT-05", in.Q)
	}
	return nil
}

// has says whether a hold has the marked units, or q anonymous ones. A hold is
// all of one kind, as it was made of one cell.
func (h *Hold) has(q int, marks prep.Marks) bool {
	if len(marks) != len(h.Marks) && (len(marks) == 0 || len(h.Marks) == 0) {
		return false
	}
	return q > 0 && q <= h.Q && (len(marks) == 0 || q == len(marks)) && len(marks.Minus(h.Marks)) == 0
}
