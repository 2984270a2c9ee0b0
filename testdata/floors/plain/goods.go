package plain

import (
	"cmp"
	"fmt"

	"packwright/events"
	"packwright/prep"
)

// toteOf gives the tote named, or the lot's own in a house without totes.
func (m *Model) toteOf(tote, lot string) string {
	if tote == "" && m.house.NoTotes {
		return lot
	}
	return tote
}

func aside(station string) string { return "A-" + station }

func (t *telling) announce() error {
	t.lots[t.ask.Lot] = &lot{item: t.Item, owner: t.Owner}
	return nil
}

// receive makes units.
func (t *telling) receive() error {
	l := t.lots[t.ask.Lot]
	if l == nil {
		return fmt.Errorf("lot %s was never announced", t.ask.Lot)
	}
	t.make(t.ask.Lot, l.item, events.Received, t.toteOf(t.Tote, t.ask.Lot), t.Qty)
	return nil
}

func (m *Model) make(lot, item string, stage events.Stage, place string, q int) {
	for range q {
		m.Units = append(m.Units, Unit{Lot: lot, Item: item, Stage: stage, Place: place})
	}
}

// correct makes units, or unmakes them: the only way a unit leaves the slice.
func (t *telling) correct() error {
	stage := cmp.Or(t.Stage, events.Received)
	place := t.toteOf(t.Place, t.ask.Lot)
	if t.Delta > 0 {
		t.make(t.ask.Lot, t.lots[t.ask.Lot].item, stage, place, t.Delta)
		return nil
	}
	for range -t.Delta {
		i := 0
		for i < len(t.Units) && (!at(t.ask.Lot, stage, place)(&t.Units[i]) || t.Units[i].Mark != 0) {
			i++
		}
		if i == len(t.Units) {
			return fmt.Errorf("%d pieces were taken off the receipt that are not there", -t.Delta)
		}
		t.Units = append(t.Units[:i], t.Units[i+1:]...)
	}
	return nil
}

// road are the stages hands take units from.
var road = []events.Stage{events.Received, events.Triaged, events.Prepped, events.Unmarked}

// picked finds the units a command is about: the marks, those of a hold, or q
// anonymous ones of the only lot and stage in the place that it can mean.
func (t *telling) picked(stages []events.Stage) ([]*Unit, error) {
	if len(t.Marks) > 0 {
		return t.take(0, t.Marks, func(u *Unit) bool { return !t.boxed(u) })
	}
	lot, stage, place := t.ask.Lot, t.Stage, word(t.From)
	if h := t.holds[t.ask.Hold]; h != nil {
		lot, stage, place = h.lot, events.Held, h.place
	}
	place = t.toteOf(place, lot)
	kinds := map[[2]string]bool{}
	for i := range t.Units {
		u := &t.Units[i]
		if u.Place == place && place != "" && (lot == "" || u.Lot == lot) && (stage == "" || u.Stage == stage) {
			kinds[[2]string{u.Lot, string(u.Stage)}] = true
		}
	}
	if len(kinds) > 1 {
		for k := range kinds {
			if !contains(stages, events.Stage(k[1])) {
				delete(kinds, k)
			}
		}
	}
	if len(kinds) != 1 {
		return nil, fmt.Errorf("%d kinds of units lie in %s, and one is meant", len(kinds), place)
	}
	for k := range kinds {
		lot, stage = k[0], events.Stage(k[1])
	}
	return t.take(t.Q, nil, func(u *Unit) bool {
		return at(lot, stage, place)(u) && (t.ask.Hold == "" || u.Hold == t.ask.Hold)
	})
}

func contains(stages []events.Stage, s events.Stage) bool {
	for _, x := range stages {
		if x == s {
			return true
		}
	}
	return false
}

// boxed says whether a unit lies in a carton.
func (m *Model) boxed(u *Unit) bool { return m.cartons[u.Place] != nil }

func (t *telling) split() error {
	units, err := t.picked(road)
	for _, u := range units {
		if t.boxed(u) {
			return fmt.Errorf("a unit in carton %s went to a tote without being taken out", u.Place)
		}
		u.Place = word(t.To)
	}
	return err
}

func (t *telling) moveTote() error {
	t.stands[t.Tote] = t.Place
	return nil
}

func (t *telling) clearTote() error {
	if n := t.Count(func(u *Unit) bool { return u.Place == t.Tote }); n > 0 {
		return fmt.Errorf("a tote with %d units was cleared", n)
	}
	delete(t.stands, t.Tote)
	return nil
}

func (t *telling) triage() error {
	lot, tote := t.ask.Lot, t.toteOf(t.Tote, t.ask.Lot)
	for i := range t.Units {
		if u := &t.Units[i]; lot == "" && u.Place == tote && u.Stage == events.Received {
			lot = u.Lot
		}
	}
	units, err := t.take(t.Q, nil, at(lot, events.Received, tote))
	if err != nil {
		return err
	}
	return t.sent(units, tote)
}

// sent puts units where a verdict sends them.
func (t *telling) sent(units []*Unit, from string) error {
	switch t.Verdict {
	case events.ToPrep:
		for _, u := range units {
			u.Stage = events.Triaged
		}
	case events.ToHold:
		t.setAside(units)
	case events.ToDivert:
		gone(units, events.Diverted)
	case events.ToWriteOff:
		gone(units, events.WrittenOff)
	default:
		return fmt.Errorf("no such verdict %q", t.Verdict)
	}
	return nil
}

// setAside makes a hold of units that lay together.
func (t *telling) setAside(units []*Unit) {
	t.nextHold++
	name := fmt.Sprintf("H-%02d", t.nextHold)
	first := units[0]
	t.holds[name] = &hold{lot: first.Lot, from: first.Place, place: aside(t.Station), stage: first.Stage}
	for _, u := range units {
		u.Stage, u.Place, u.Hold = events.Held, aside(t.Station), name
	}
}

func (t *telling) hold() error {
	units, err := t.picked(road)
	if err != nil {
		return err
	}
	t.setAside(units)
	return nil
}

func (t *telling) release() error {
	h := t.holds[t.ask.Hold]
	if h == nil {
		return fmt.Errorf("there is no hold %s", t.ask.Hold)
	}
	mine := func(u *Unit) bool { return u.Hold == t.ask.Hold && u.Stage == events.Held }
	units, err := t.take(t.Q, t.Marks, mine)
	if t.Q == 0 && len(t.Marks) == 0 { // all of it
		units, err = nil, nil
		for i := range t.Units {
			if mine(&t.Units[i]) {
				units = append(units, &t.Units[i])
			}
		}
	}
	for _, u := range units {
		u.Stage, u.Place, u.Hold = h.stage, cmp.Or(word(t.To), h.from), ""
	}
	return err
}

func (t *telling) leave(stage events.Stage) error {
	units, err := t.picked(append([]events.Stage{events.Held}, road...))
	if err != nil {
		return err
	}
	for _, u := range units {
		if t.boxed(u) {
			return fmt.Errorf("a unit left the floor out of carton %s", u.Place)
		}
	}
	if len(units) > 0 && units[0].Stage == events.Held && t.ask.Hold == "" {
		units, err = t.onlyHold(units[0])
	}
	gone(units, stage)
	return err
}

// onlyHold takes the units out of the one hold of that lot and place which has them.
func (t *telling) onlyHold(like *Unit) ([]*Unit, error) {
	if len(t.Marks) > 0 {
		return t.take(0, t.Marks, func(u *Unit) bool { return u.Stage == events.Held })
	}
	found := ""
	for name := range t.holds {
		n := t.Count(func(u *Unit) bool { return u.Hold == name && u.Lot == like.Lot && u.Place == like.Place && u.Mark == 0 })
		if n >= t.Q {
			if found != "" {
				return nil, fmt.Errorf("the holds %s and %s could both be meant", found, name)
			}
			found = name
		}
	}
	return t.take(t.Q, nil, func(u *Unit) bool { return u.Hold == found && u.Stage == events.Held })
}

func (t *telling) divert() error   { return t.leave(events.Diverted) }
func (t *telling) writeOff() error { return t.leave(events.WrittenOff) }
func (t *telling) lose() error     { return t.leave(events.Unaccounted) }

func (t *telling) unDivert() error {
	units, err := t.take(t.Q, nil, at(t.ask.Lot, events.Diverted, ""))
	for _, u := range units {
		u.Stage, u.Place = events.Received, t.Tote
	}
	return err
}

// found and what follows say who there is and by which rules.
func (t *telling) found() error {
	t.badges[t.Owner] = &badge{roles: []events.Role{events.Owner}}
	return nil
}

func (t *telling) enrol() error {
	t.badges[t.ask.Badge] = &badge{roles: t.Roles, ownerOf: t.OwnOf}
	return nil
}

func (t *telling) signIn() error {
	t.sessions[t.Told.Badge]++
	return nil
}

func (t *telling) item() (err error) {
	var it prep.Item
	if err = jsonInto(t.Data, &it); err == nil {
		t.items[it.Item] = it
	}
	return err
}

func (t *telling) rulebook() error {
	b, err := prep.ParseRulebook("rules", []byte(t.Source))
	if err == nil {
		t.rev = b.Rev
		t.books[b.Rev] = b
	}
	return err
}
