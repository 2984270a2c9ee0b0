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
var takeBackRule = on(rule{Name: "take-back", Who: packers}, []gate[takeBackAsk]{
	{Gate{"an action of this session that has a reverse", "E-UND-02", ""}, func(d *decision, in *takeBackAsk) *Refusal {
		d.findAction(in)
		if in.action == nil || in.action.Undo == nil || in.action.reverse() == nil {
			return refuse("E-UND-02")
		}
		d.scope = events.Scope{Carton: in.action.Undo.Carton, Run: in.action.Undo.Run, Lot: in.action.Undo.Lot}
		return nil
	}},
	{Gate{"one of its last few, some minutes ago, and nothing rests on it", "E-UND-01", ""}, func(d *decision, in *takeBackAsk) *Refusal {
		if why := d.tooLate(in); why != "" {
			return refuse("E-UND-01", why)
		}
		return nil
	}},
}, func(d *decision, in *takeBackAsk) {
	d.emit(&events.ActionTakenBack{Seq: in.action.Seq, Reason: in.Reason})
	d.follow(in.action.reverse())
})

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

// tooLate says why an action can no longer be taken back, or "".
func (d *decision) tooLate(in *takeBackAsk) string {
	p, a := d.f.policy, in.action
	if d.now.Sub(a.At) > time.Duration(p.TakeBackMin)*time.Minute {
		return fmt.Sprintf("over %d min ago", p.TakeBackMin)
	}
	own := 1
	for _, r := range in.later {
		if r.Session == d.session && r.Type != "action.taken-back" && !r.Taken {
			own++
		}
	}
	if own > p.TakeBackLast {
		return fmt.Sprintf("%d actions since", own-1)
	}
	for _, r := range in.later {
		if r.Undo != nil && r.Session != d.session && (r.Undo.Carton != "" && r.Undo.Carton == a.Undo.Carton || r.Undo.Run != "" && r.Undo.Run == a.Undo.Run) {
			return "another badge acted since"
		}
	}
	if a.Type == "step.checked" {
		return d.runMovedOn(a.Undo, in.later)
	}
	return d.cartonMovedOn(a)
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

// cartonMovedOn says why an act on a carton stands now, or "".
func (d *decision) cartonMovedOn(a *Recent) string {
	u, c := a.Undo, d.f.Cartons[a.Undo.Carton]
	switch {
	case c == nil:
		return "carton gone"
	case c.State != CartonOpen && c.State != CartonCounting:
		return "carton " + string(c.State)
	case c.Bench != d.station.Name:
		return "carton handed over"
	}
	switch a.Type {
	case "unit.placed":
		if !d.f.Ledger.holds(Key{u.Lot, events.Prepped, u.Carton}, u.Q, u.Marks) || d.f.toteTakes(u.Place, u.Lot, events.Prepped) != nil {
			return "pieces moved since"
		}
	case "unit.taken-out":
		if !d.f.Ledger.holds(Key{u.Lot, events.Prepped, u.Place}, u.Q, u.Marks) || d.f.room(c, u.Item) < u.Q {
			return "pieces moved since"
		}
	case "count.entered":
		if c.Count == nil || c.Count.Seq != a.Seq || d.f.matterOn(c.Carton) != nil {
			return "the count was acted on"
		}
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

// room counts how many more of an item the plan wants in a carton.
func (f *Floor) room(c *Carton, item string) (n int) {
	if p := f.Plans[c.Plan]; p != nil {
		for _, l := range p.Lines {
			if l.Carton == c.Carton && l.Item == item {
				n += l.Q
			}
		}
	}
	for _, x := range f.Ledger.At(c.Carton) {
		if x.Item == item {
			n -= x.Qty()
		}
	}
	return n
}

// reverse gives the events that undo an action.
func (a *Recent) reverse() events.Data {
	const why = "taken back"
	u := a.Undo
	switch a.Type {
	case "unit.placed":
		return &events.UnitTakenOut{Carton: u.Carton, Item: u.Item, Lot: u.Lot, To: u.Place, Q: u.Q, Marks: u.Marks, Reason: why}
	case "unit.taken-out":
		return &events.UnitPlaced{Carton: u.Carton, Item: u.Item, Lot: u.Lot, From: u.Place, Q: u.Q, Marks: u.Marks}
	case "step.checked":
		return &events.StepChecked{Run: u.Run, Step: u.Step}
	case "count.entered":
		return &events.CountVoided{Carton: u.Carton, Why: why}
	}
	return nil
}
