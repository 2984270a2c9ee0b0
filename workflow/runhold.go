package workflow

import (
	"packwright/events"
)

// pauseAsk frames time that is nobody's work; resume-run ends it.
type pauseAsk struct {
	ofRun
	Reason string `json:"reason"`
}

type resumeAsk struct {
	ofRun
}

// handOverRunAsk gives a run to another badge or bench.
type handOverRunAsk struct {
	ofRun
	To      string `json:"to"`       // station; empty: this one
	ToBadge string `json:"to_badge"` // empty: the badge signed in there
	badge   *Badge
}

// ofHands is the gate of commands about a run of this bench that may be paused.
func ofHands[T any, P atRun[T]]() gate[T] {
	return gate[T]{Gate{"a run of this bench that is not closed, in these hands", "E-PRE-08", ""}, func(d *decision, in *T) *Refusal {
		w := P(in).work()
		r := d.find(w)
		if r == nil || r.State == RunClosed || r.Station != d.id.Station || !d.holds(r) {
			return d.notOpen(w, r)
		}
		d.takes(w, r)
		return nil
	}}
}

var pauseRule = on(rule{Name: "pause-run", Who: packers, Moves: []Move{{"run", "open", "paused"}}}, []gate[pauseAsk]{
	ofHands[pauseAsk](),
}, func(d *decision, in *pauseAsk) {
	if in.run.State == RunOpen {
		d.emit(&events.RunPaused{Run: in.run.Run, Reason: in.Reason})
	}
})

var resumeRule = on(rule{Name: "resume-run", Who: packers, Moves: []Move{{"run", "paused", "open"}}}, []gate[resumeAsk]{
	ofHands[resumeAsk](),
	{Gate{"no roll or pack in use is blocked", "E-PRE-05", ""}, func(d *decision, in *resumeAsk) *Refusal {
		return d.f.unblocked(in.run)
	}},
}, func(d *decision, in *resumeAsk) {
	if in.run.State == RunPaused {
		d.emit(&events.RunResumed{Run: in.run.Run})
	}
})

// handOverRunRule: the hands that have it give it, or a lead or supervisor
// takes it from a bench that is silent.
var handOverRunRule = on(rule{Name: "hand-over-run", Who: packers, Moves: []Move{{"run", "open", "open"}, {"run", "paused", "paused"}}}, []gate[handOverRunAsk]{
	{Gate{"a run that is not closed, in these hands, or a lead", "E-PRE-08", ""}, func(d *decision, in *handOverRunAsk) *Refusal {
		r := d.find(&in.ofRun)
		if r == nil || r.State == RunClosed || !d.may(leads...) && (r.Station != d.id.Station || !d.holds(r)) {
			return d.notOpen(&in.ofRun, r)
		}
		d.takes(&in.ofRun, r)
		return nil
	}},
	{Gate{"the station has joined", "E-SES-04", ""}, func(d *decision, in *handOverRunAsk) *Refusal {
		if in.To == "" {
			in.To = d.id.Station
		}
		if d.f.Stations[in.To] == nil {
			return refuse("E-SES-04", in.To)
		}
		return nil
	}},
	{Gate{"who takes it is signed in there", "E-SES-09", ""}, func(d *decision, in *handOverRunAsk) *Refusal {
		for _, x := range d.f.Stations[in.To].Sessions {
			if in.badge == nil && (in.ToBadge == "" || in.ToBadge == x.Badge) {
				in.badge = d.f.Badges[x.Badge]
			}
		}
		if in.badge == nil {
			return refuse("E-SES-09", in.To)
		}
		return nil
	}},
	{Gate{"no other run open there", "E-CAR-03", ""}, func(d *decision, in *handOverRunAsk) *Refusal {
		if r := d.f.runAt(in.To); r != nil && r != in.run {
			return refuse("E-CAR-03", r.Run, in.To)
		}
		return nil
	}},
	{Gate{"who takes it is cleared for the recipe, or a lead is signed in beside", "E-PRE-20", "recipe-clearance"}, func(d *decision, in *handOverRunAsk) *Refusal {
		if _, no := d.cleared(in.badge, in.run.Recipe, ""); no != nil {
			return refuse("E-PRE-20", in.To, in.run.Recipe)
		}
		return nil
	}},
}, func(d *decision, in *handOverRunAsk) {
	if in.run.Station != in.To || in.run.Badge != in.badge.Badge {
		d.emit(&events.RunHandedOver{Run: in.run.Run, From: in.run.Station, To: in.To, ToBadge: in.badge.Badge})
	}
})
