package workflow

import (
	"fmt"
	"slices"

	"packwright/events"
	"packwright/prep"
)

// spoilAsk says without blame that pieces were damaged here: in hand, or one
// finished or labelled piece by its label.
type spoilAsk struct {
	ofRun
	Item    string         `json:"item"` // of a bundle run: the set, when one that was built is damaged
	Q       int            `json:"q"`    // 0: one
	Mark    prep.Mark      `json:"mark"`
	Cause   string         `json:"cause"`
	Step    string         `json:"step"` // at which it happened
	Verdict events.Verdict `json:"verdict"`
	from    Key
	lot     *Lot
	label   bool // its label is live and on no finished unit: it goes with the piece
}

// causes of damage at a bench.
var causes = []string{"tear", "heat", "stain", "crush", "drop", "other"}

func (in *spoilAsk) check() error {
	switch {
	case !slices.Contains(causes, in.Cause):
		return prep.Input(fmt.Sprintf("%q is not a cause", in.Cause), "choose from tear, heat, stain, crush, drop, other")
	case in.Verdict != events.ToHold && in.Verdict != events.ToDivert && in.Verdict != events.ToWriteOff:
		return prep.Input(fmt.Sprintf("%q is not where a spoiled piece goes", in.Verdict), "choose hold, divert or writeoff")
	case in.Q < 0 || in.Q > 1 && in.Mark != 0:
		return prep.Input("one label is one piece", "send the quantity or the label")
	}
	if in.Q == 0 {
		in.Q = 1
	}
	return nil
}

var spoilRule = on(rule{Name: "spoil", Who: packers, Late: true, Moves: []Move{{"unit", "triaged", "held"}, {"unit", "triaged", "diverted"},
	{"unit", "triaged", "written-off"}, {"unit", "prepped", "held"}, {"unit", "prepped", "diverted"}, {"unit", "prepped", "written-off"}, {"run", "open", "closed"}}}, inHands(
	gate[spoilAsk]{Gate{"a piece in hand, or the label of a piece of this run", "E-PRE-10", ""}, spoiledPiece},
	gate[spoilAsk]{Gate{"a piece that is in no carton", "E-OUT-01", ""}, func(d *decision, in *spoilAsk) *Refusal {
		if d.f.Cartons[in.from.Place] != nil {
			d.scope.Carton = in.from.Place
			return refuse("E-OUT-01", in.from.Place)
		}
		return nil
	}},
	gate[spoilAsk]{Gate{"no more than the run has in hand", "E-INT-05", ""}, func(d *decision, in *spoilAsk) *Refusal {
		left := d.f.Ledger.N(in.from)
		if in.from.Lot != in.run.Bundle {
			left = min(left, in.run.inHand())
		}
		if in.from.Stage == events.Triaged && in.Q > left {
			return refuse("E-INT-05", in.Q)
		}
		return nil
	}},
	gate[spoilAsk]{Gate{"the step, when it is said, is one of the recipe", "E-SYS-07", ""}, func(d *decision, in *spoilAsk) *Refusal {
		if in.Step == "" || in.recipe == nil || !in.recipe.Open() {
			return nil
		}
		if _, ok := in.recipe.Step(in.Step); !ok {
			return refuse("E-SYS-07", fmt.Sprintf("Step %q", in.Step))
		}
		return nil
	}},
	gate[spoilAsk]{Gate{"write-off above the packer's limit: a supervisor", "E-OUT-02", ""}, func(d *decision, in *spoilAsk) *Refusal {
		if in.Verdict != events.ToWriteOff {
			return nil
		}
		return d.withinPackers(d.f.worth(in.lot, in.Q))
	}},
	gate[spoilAsk]{Gate{"write-off above the supervisor's limit: the owner", "E-OUT-03", ""}, func(d *decision, in *spoilAsk) *Refusal {
		if in.Verdict != events.ToWriteOff {
			return nil
		}
		return d.withinSupervisors(d.f.worth(in.lot, in.Q))
	}},
), func(d *decision, in *spoilAsk) {
	d.begin(&in.ofRun)
	e := &events.UnitSpoiled{Run: in.run.Run, Lot: in.from.Lot, Item: in.lot.Item, Stage: in.from.Stage, From: in.from.Place, Q: in.Q,
		Mark: in.Mark, Cause: in.Cause, Step: in.Step, Verdict: in.Verdict}
	if in.Verdict == events.ToHold {
		e.Hold, e.To = d.nextHold(), aside(d.id.Station)
	}
	if in.label {
		e.Mark = 0
	}
	d.emit(e)
	if in.label {
		d.follow(&events.LabelsSpoiled{Run: in.run.Run, Kind: markLabel(in.recipe), N: 1, From: in.Mark, To: in.Mark, Why: in.Cause})
	}
	after := *in.run
	after.spoil(e, in.recipe)
	if in.label {
		after.Torn = after.Torn.Union(prep.Marks{in.Mark})
	}
	d.ends(&after, in.recipe)
})

// spoiledPiece finds where the piece is. A label that is live and on no finished
// unit is on a piece in hand.
func spoiledPiece(d *decision, in *spoilAsk) *Refusal {
	r := in.run
	in.from = Key{r.Lot, events.Triaged, r.Tote}
	if in.Item != "" && in.Item == r.Item && r.Set > 0 {
		in.from = r.source()
	}
	if m := in.Mark; m != 0 {
		d.scope.Mark = m
		u, c := d.f.Units[m], d.f.Ledger.Find(m)
		switch {
		case u != nil && u.Run == r.Run && c != nil && c.Stage == events.Prepped:
			in.from = c.Key
		case r.Live.Contains(m):
			in.label, in.from = true, r.source()
		default:
			return refuse("E-PRE-10", m.Display())
		}
	}
	in.lot = d.f.Lots[in.from.Lot] // nil while no set is built: the next gate finds none
	return nil
}
