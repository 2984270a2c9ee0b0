package workflow

import (
	"fmt"
	"slices"
	"time"

	"packwright/events"
)

type overrideAsk struct {
	Scope   events.Scope `json:"scope"`
	Gate    string       `json:"gate"`
	Reason  string       `json:"reason_code"`
	Text    string       `json:"text"`
	Minutes int          `json:"minutes"` // 0: an hour; at most a day
	Second  string       `json:"second"`
}

// overridable names the gates that leave may be given for; true: a second
// person must agree. Whatever is not here can be overridden by nobody.
var overridable = map[string]bool{
	"bench-clear":       false,
	"recipe-clearance":  false,
	"label-balance":     false,
	"third-counter":     false, // after two counts that disagree: who counts next
	"mixed-lots":        false,
	"short-life":        false,
	"unprepped":         false, // never for what a stop rule holds: such units are on hold, not in a tote
	"late-in-count":     false,
	"scale-fault":       true, // the scale is known to be wrong, and two blind counts agree
	"substitute":        true,
	"certify-by-weight": true,
	"delegation":        false,
}

// neverOverridden names what nobody may allow, so that the refusal can say so
// even where no gate of that name exists.
var neverOverridden = []string{"hazard", "battery", "two-owners", "seal-uncounted", "edit-event", "reuse-mark", "reuse-seal", "move-dispatched", "show-count"}

var overrideRules = []rule{
	on(rule{Name: "override", Who: supervisors}, []gate[overrideAsk]{
		{Gate{"a gate that can be overridden", "E-AUT-02", ""}, func(d *decision, in *overrideAsk) *Refusal {
			if _, ok := overridable[in.Gate]; !ok || slices.Contains(neverOverridden, in.Gate) {
				return refuse("E-AUT-02")
			}
			return nil
		}},
		{Gate{"about something known, with a reason in words", "E-SYS-07", ""}, func(d *decision, in *overrideAsk) *Refusal {
			if what := d.f.strange(in.Scope); what != "" {
				return refuse("E-SYS-07", what)
			}
			if in.Reason == "" || in.Text == "" {
				return refuse("E-SYS-07", "The reason")
			}
			d.scope = in.Scope
			return nil
		}},
		{Gate{"a second person agrees, where the gate asks for one", "E-AUT-03", ""}, func(d *decision, in *overrideAsk) *Refusal {
			if overridable[in.Gate] && !d.second(in.Second, events.Supervisor, events.Owner) {
				return refuse("E-AUT-03")
			}
			return nil
		}},
	}, func(d *decision, in *overrideAsk) {
		if in.Minutes <= 0 || in.Minutes > 24*60 {
			in.Minutes = 60
		}
		d.emit(&events.OverrideGranted{Override: fmt.Sprintf("O-%02d", d.f.Next.Override+1), Scope: in.Scope, Gate: in.Gate,
			Reason: in.Reason, Text: in.Text, Expires: d.now.Add(time.Duration(in.Minutes) * time.Minute), Second: in.Second})
	}),
}

func (f *Floor) overrideGranted(e *events.Event, d *events.OverrideGranted) error {
	f.Next.Override++
	for code, o := range f.Overrides { // those that have run out need not be remembered
		if o.Expires.Before(e.Recorded) {
			delete(f.Overrides, code)
		}
	}
	f.Overrides[d.Override] = &Override{Override: d.Override, Scope: d.Scope, Gate: d.Gate, By: e.Badge, Second: d.Second,
		Expires: d.Expires, Granted: e.Recorded, Seq: e.Seq}
	return nil
}
