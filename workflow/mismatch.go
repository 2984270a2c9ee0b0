package workflow

import (
	"maps"
	"slices"

	"packwright/events"
)

type raiseAsk struct {
	Kind  events.Kind  `json:"kind"`
	Scope events.Scope `json:"scope"`
	Text  string       `json:"text"`
	Free  bool         `json:"free"` // does not block
}

// matterAsk is what all later commands about a mismatch have in common.
type matterAsk struct {
	Mismatch   string   `json:"mismatch"`
	Text       string   `json:"text"`
	Actions    []string `json:"actions"`
	Resolution string   `json:"resolution"`
	Where      string   `json:"where_was_it"`
	Reason     string   `json:"reason"`
	Second     string   `json:"second"` // the other of supervisor and owner, where both must agree
	matter     *Matter
	way        events.Resolution
}

// isOpen is the gate of everything done to a mismatch that is still open.
var isOpen = gate[matterAsk]{Gate{"the mismatch is open", "E-MIS-04", ""}, func(d *decision, in *matterAsk) *Refusal {
	if in.matter = d.f.Matters[in.Mismatch]; in.matter == nil || !in.matter.Resolved.IsZero() {
		return refuse("E-MIS-04", in.Mismatch)
	}
	d.matterScope(in.matter)
	return nil
}}

// notAnothers: two supervisors do not take the same matter.
var notAnothers = gate[matterAsk]{Gate{"nobody else has taken it", "E-MIS-01", ""}, func(d *decision, in *matterAsk) *Refusal {
	if m := in.matter; m.TakenBy != "" && m.TakenBy != d.badge.Badge {
		return refuse("E-MIS-01", m.TakenAt.Clock())
	}
	return nil
}}

// mismatchRules settle what does not match.
var mismatchRules = []rule{
	on(rule{Name: "raise", Who: packers, Moves: []Move{{"mismatch", "", "raised"}}}, []gate[raiseAsk]{
		{Gate{"a kind of mismatch there is, about something known", "E-SYS-07", ""}, func(d *decision, in *raiseAsk) *Refusal {
			if len(events.WaysOut(in.Kind)) == 0 {
				return refuse("E-SYS-07", "Kind "+string(in.Kind))
			}
			if what := d.f.strange(in.Scope); what != "" {
				return refuse("E-SYS-07", what)
			}
			d.scope = in.Scope
			return nil
		}},
	}, func(d *decision, in *raiseAsk) {
		id := d.raise(in.Kind, in.Scope, events.Evidence{}, !in.Free)
		if in.Text != "" {
			d.follow(&events.MismatchNoted{Mismatch: id, Text: in.Text})
		}
	}),

	on(rule{Name: "take", Who: supervisors, Moves: []Move{{"mismatch", "raised", "taken"}}}, []gate[matterAsk]{isOpen, notAnothers},
		func(d *decision, in *matterAsk) {
			if in.matter.TakenBy == "" {
				d.emit(&events.MismatchTaken{Mismatch: in.Mismatch, By: d.badge.Badge})
			}
		}),

	on(rule{Name: "note", Who: packers}, []gate[matterAsk]{isOpen}, func(d *decision, in *matterAsk) {
		d.emit(&events.MismatchNoted{Mismatch: in.Mismatch, Text: in.Text})
	}),

	on(rule{Name: "fixed", Who: packers, Moves: []Move{{"mismatch", "raised", "fixed"}, {"mismatch", "taken", "fixed"}}}, []gate[matterAsk]{isOpen,
		{Gate{"a supervisor has it, or it is one's own", "E-AUT-01", ""}, func(d *decision, in *matterAsk) *Refusal {
			if !d.may(events.Supervisor, events.Owner) && in.matter.TakenBy != d.badge.Badge {
				return refuse("E-AUT-01")
			}
			return nil
		}},
		notAnothers,
	}, func(d *decision, in *matterAsk) {
		d.emit(&events.MismatchFixed{Mismatch: in.Mismatch, Actions: in.Actions})
	}),

	on(rule{Name: "resolve", Who: packers, Moves: []Move{{"mismatch", "raised", "resolved"}, {"mismatch", "taken", "resolved"}, {"mismatch", "fixed", "resolved"}}}, []gate[matterAsk]{
		isOpen, notAnothers,
		{Gate{"a lawful way out of its kind, for this badge", "E-MIS-02", ""}, lawful},
		{Gate{"supervisor and owner agree, where both must", "E-AUT-03", ""}, agreed},
		afterCheck(events.Recount, "an accepted count by another person since it was fixed, where goods are in question", "E-MIS-03"),
		afterCheck(events.AmendedPlan, "an amended plan, where the plan is changed", "E-MIS-05"),
		afterCheck(events.Leave, "leave given since, where it is passed by override", "E-MIS-06"),
	}, func(d *decision, in *matterAsk) {
		check := d.f.checkOf(in.matter, in.way.Check)
		d.emit(&events.MismatchResolved{Mismatch: in.Mismatch, Resolution: in.Resolution, Approver: d.badge.Badge,
			AfterCheck: check, Where: in.Where})
	}),

	on(rule{Name: "reopen-mismatch", Who: supervisors, Moves: []Move{{"mismatch", "resolved", "raised"}}}, []gate[matterAsk]{
		{Gate{"it was resolved and its goods are still here", "E-MIS-04", ""}, func(d *decision, in *matterAsk) *Refusal {
			in.matter = d.f.Matters[in.Mismatch]
			if in.matter == nil || in.matter.Resolved.IsZero() || slices.ContainsFunc(in.matter.Scopes, d.f.gone) {
				return refuse("E-MIS-04", in.Mismatch)
			}
			d.matterScope(in.matter)
			return nil
		}},
	}, func(d *decision, in *matterAsk) {
		d.emit(&events.MismatchReopened{Mismatch: in.Mismatch, Reason: in.Reason})
	}),
}

// matterScope puts what a matter is about into the decision.
func (d *decision) matterScope(m *Matter) {
	d.scope = m.Scopes[0]
	if d.c.Matter == "" {
		c := *d.c
		c.Matter = m.Matter
		d.c = &c
	}
}

// strange names what in a scope the floor does not know, or "".
func (f *Floor) strange(s events.Scope) string {
	switch {
	case s.Carton != "" && f.Cartons[s.Carton] == nil:
		return "Carton " + s.Carton
	case s.Lot != "" && f.Lots[s.Lot] == nil:
		return "Lot " + s.Lot
	case s.Run != "" && f.Runs[s.Run] == nil:
		return "Run " + s.Run
	case s.Station != "" && f.Stations[s.Station] == nil:
		return "Bench " + s.Station
	case s.Mark != 0 && f.Units[s.Mark] == nil:
		return "Label " + s.Mark.Display()
	case s == events.Scope{}:
		return "What it is about"
	}
	return ""
}

// gone says that what a scope is about has left the floor.
func (f *Floor) gone(s events.Scope) bool {
	c := f.Cartons[s.Carton]
	return s.Carton != "" && (c == nil || c.State == CartonDispatched)
}

func lawful(d *decision, in *matterAsk) *Refusal {
	for _, w := range events.WaysOut(in.matter.Kinds...) {
		if w.Name == in.Resolution && (d.may(w.Who...) || w.Both && d.may(events.Supervisor, events.Owner)) {
			in.way = w
			return nil
		}
	}
	return refuse("E-MIS-02", in.Mismatch)
}

// agreed asks for the second person where supervisor and owner must both say yes.
func agreed(d *decision, in *matterAsk) *Refusal {
	if !in.way.Both || d.second(in.Second, events.Supervisor, events.Owner) {
		return nil
	}
	return refuse("E-AUT-03")
}

// second says whether another badge with one of the roles agrees: it must be
// signed in somewhere on the floor at that moment.
func (d *decision) second(badge string, roles ...events.Role) bool {
	b := d.f.Badges[badge]
	if b == nil || b.Retired || b.Station == "" || badge == d.badge.Badge {
		return false
	}
	return slices.ContainsFunc(b.Roles, func(r events.Role) bool { return slices.Contains(roles, r) })
}

// afterCheck is the gate that no matter is closed on somebody's word alone.
func afterCheck(check events.Check, needs string, code Code) gate[matterAsk] {
	return gate[matterAsk]{Gate{needs, code, ""}, func(d *decision, in *matterAsk) *Refusal {
		if in.way.Check == check && d.f.checkOf(in.matter, check) == "" {
			return refuse(code)
		}
		return nil
	}}
}

// checkOf finds the proof a way out asks for, since the matter was fixed (or
// raised): the place in the log of the last one, or "".
func (f *Floor) checkOf(m *Matter, check events.Check) string {
	switch check {
	case events.Recount:
		return f.recounted(m)
	case events.AmendedPlan:
		for _, p := range f.plansOf(m) {
			if !p.Amended.IsZero() && !p.Amended.Before(m.Raised) {
				return p.AmendedSeq.String()
			}
		}
	case events.Leave:
		for _, code := range slices.Sorted(maps.Keys(f.Overrides)) {
			if o := f.Overrides[code]; !o.Granted.Before(m.Raised) && slices.Contains(m.Scopes, o.Scope) {
				return o.Seq.String()
			}
		}
	}
	return ""
}

// plansOf lists the plans a matter's cartons are on; of a matter without
// cartons, all that are in force, in order.
func (f *Floor) plansOf(m *Matter) (out []*Plan) {
	for _, s := range m.Scopes {
		if c := f.Cartons[s.Carton]; c != nil && f.Plans[c.Plan] != nil {
			out = append(out, f.Plans[c.Plan])
		}
	}
	if len(out) > 0 {
		return out
	}
	for _, code := range slices.Sorted(maps.Keys(f.Plans)) {
		out = append(out, f.Plans[code])
	}
	return out
}

// recounted wants each carton of the matter to have an accepted count, made
// after the fix by someone other than its first counter. In a house of one
// person the same hand serves after ten minutes, or when the scale vouches.
func (f *Floor) recounted(m *Matter) string {
	last := events.Seq{}
	cartons := 0
	for _, s := range m.Scopes {
		if s.Carton == "" {
			continue
		}
		c := f.Cartons[s.Carton]
		if c == nil || c.Cert == nil || !m.FixedSeq.Less(c.Cert.Seq) || m.FixedSeq.IsZero() {
			return ""
		}
		if !f.otherHand(c) {
			return ""
		}
		if last.Less(c.Cert.Seq) {
			last = c.Cert.Seq
		}
		cartons++
	}
	if cartons == 0 {
		return ""
	}
	return last.String()
}

// otherHand says whether a carton's count in force was made by someone other
// than its first counter, or by what the policy of one person takes instead.
func (f *Floor) otherHand(c *Carton) bool {
	if c.Count == nil {
		return c.Weight != nil && c.Weight.Vouches
	}
	if c.First == "" || c.Count.By != c.First {
		return true
	}
	return f.policy.Persons == 1 && (c.Weight != nil && c.Weight.Vouches || c.Count.At.Sub(c.FirstAt) >= tenMinutes)
}
