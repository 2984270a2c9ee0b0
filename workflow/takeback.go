package workflow

import (
	"fmt"
	"time"

	"packwright/events"
	"packwright/prep"
)

// takeBackAsk takes back one's own last action, or an earlier one by its place.
type takeBackAsk struct {
	Seq    events.Seq `json:"seq"`
	Reason string     `json:"reason"`
	action *Recent
	later  []Recent // kept here since
}

// takeBackRule undoes by new events, never by removal.
var takeBackRule = on(rule{Name: "take-back", Who: packers, Moves: []Move{{"unit", "prepped", "prepped"}, {"carton", "counting", "open"}}}, []gate[takeBackAsk]{
	{Gate{"an action of this session that has a reverse", "E-UND-02", ""}, func(d *decision, in *takeBackAsk) *Refusal {
		d.findAction(in)
		if in.action == nil || len(in.action.Undo) == 0 {
			return refuse("E-UND-02")
		}
		for i := range in.action.Undo {
			if u := &in.action.Undo[i]; u.reverse() == nil {
				return refuse("E-UND-02")
			}
		}
		u := &in.action.Undo[0]
		d.scope = events.Scope{Carton: u.Carton, Run: u.Run, Lot: u.Lot}
		return nil
	}},
	{Gate{"one of its last few, minutes ago, and nothing rests on it", "E-UND-01", ""}, func(d *decision, in *takeBackAsk) *Refusal {
		why := d.tooOld(in)
		for i := 0; why == "" && i < len(in.action.Undo); i++ {
			why = d.restsOn(&in.action.Undo[i], in)
		}
		if why != "" {
			return refuse("E-UND-01", why)
		}
		return nil
	}},
}, func(d *decision, in *takeBackAsk) {
	d.emit(&events.ActionTakenBack{Seq: in.action.Seq, Reason: in.Reason})
	if c := d.f.Cartons[d.scope.Carton]; c != nil && in.action.Undo[0].Of != "count.entered" {
		d.reopenCount(c, takenBack)
	}
	for i := len(in.action.Undo) - 1; i >= 0; i-- {
		u := &in.action.Undo[i]
		back := u.reverse()
		if p, ok := back.(*events.UnitPlaced); ok {
			p.Run = d.f.runOf(taken{cell: d.f.Ledger.Cell(Key{u.Lot, events.Prepped, u.Place}), q: u.Q, marks: u.Marks})
		}
		d.follow(back)
	}
})

const takenBack = "taken back"

// findAction looks for the action: the one at Seq, or the last that was not taken back.
func (d *decision) findAction(in *takeBackAsk) {
	list := d.station.Recent
	for i := len(list) - 1; i >= 0; i-- {
		r := &list[i]
		if r.Session != d.session || r.Taken || r.Type == "action.taken-back" {
			continue
		}
		if in.Seq.IsZero() || in.Seq == r.Seq {
			in.action, in.later = r, list[i+1:]
			return
		}
	}
}

// tooOld says why an action is too long ago, or "".
func (d *decision) tooOld(in *takeBackAsk) string {
	p := d.f.policy
	if d.now.Sub(in.action.At) > time.Duration(p.TakeBackMin)*time.Minute {
		return fmt.Sprintf("over %d min ago", p.TakeBackMin)
	}
	since := 0
	for _, r := range in.later {
		if r.Session == d.session && r.Type != "action.taken-back" && !r.Taken {
			since++
		}
	}
	if since >= p.TakeBackLast {
		return fmt.Sprintf("%d actions since", since)
	}
	return ""
}

// restsOn says what rests on an event that would be undone, or "".
func (d *decision) restsOn(u *Undo, in *takeBackAsk) string {
	for _, r := range in.later {
		if r.Session != d.session && r.touches(u) {
			return "another badge acted since"
		}
	}
	if u.Of == "step.checked" {
		return d.runMovedOn(u, in.later)
	}
	c := d.f.Cartons[u.Carton]
	switch {
	case c == nil:
		return "carton gone"
	case c.State != CartonOpen && c.State != CartonCounting:
		return "carton " + string(c.State)
	case c.Bench != d.station.Name:
		return "carton handed over"
	}
	return d.cartonMovedOn(u, c, in.action)
}

// touches says whether an action was about the same carton or run.
func (r *Recent) touches(u *Undo) bool {
	for i := range r.Undo {
		o := &r.Undo[i]
		if o.Carton != "" && o.Carton == u.Carton || o.Run != "" && o.Run == u.Run {
			return true
		}
	}
	return false
}

// runMovedOn says what rests on a step that was confirmed, or "".
func (d *decision) runMovedOn(u *Undo, later []Recent) string {
	r := d.f.Runs[u.Run]
	if r == nil || r.State == RunClosed {
		return "run closed"
	}
	if r.Station != d.station.Name {
		return "run handed over"
	}
	for _, x := range later {
		if x.Type == "units.prepped" || x.Type == "bundle.built" {
			return "pieces finished since"
		}
	}
	return ""
}

// cartonMovedOn says why an act on a carton in hand stands now, or "".
func (d *decision) cartonMovedOn(u *Undo, c *Carton, a *Recent) string {
	moved := false
	switch u.Of {
	case "unit.placed":
		moved = !d.f.Ledger.holds(Key{u.Lot, events.Prepped, u.Carton}, u.Q, u.Marks) || d.f.toteTakes(u.Place, u.Lot, events.Prepped) != nil
	case "unit.taken-out":
		moved = !d.f.Ledger.holds(Key{u.Lot, events.Prepped, u.Place}, u.Q, u.Marks) || d.f.scanned(c, u.Item)+u.Q > d.f.wanted(c, u.Item)
	case "count.entered":
		if c.Count == nil || c.Count.Seq != a.Seq || d.f.matterOn(c.Carton) != nil {
			return "the count was acted on"
		}
	}
	if moved {
		return "pieces moved since"
	}
	return ""
}

// holds says whether a cell has the marks, or so many anonymous units.
func (l *Ledger) holds(k Key, q int, marks prep.Marks) bool {
	c := l.cells[k]
	if c == nil || len(marks) == 0 {
		return c != nil && c.N >= q
	}
	return len(marks.Minus(c.Marks)) == 0
}

// reverse gives the event that undoes one; nil: there is none.
func (u *Undo) reverse() events.Data {
	switch u.Of {
	case "unit.placed":
		return &events.UnitTakenOut{Carton: u.Carton, Item: u.Item, Lot: u.Lot, To: u.Place, Q: u.Q, Marks: u.Marks, Serials: u.Serials, Reason: takenBack}
	case "unit.taken-out":
		return &events.UnitPlaced{Carton: u.Carton, Item: u.Item, Lot: u.Lot, From: u.Place, Q: u.Q, Marks: u.Marks, Serials: u.Serials}
	case "step.checked":
		return &events.StepChecked{Run: u.Run, Step: u.Step}
	case "count.entered":
		return &events.CountVoided{Carton: u.Carton, Why: takenBack}
	}
	return nil
}
