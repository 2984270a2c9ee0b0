package plain

import (
	"cmp"
	"fmt"

	"packwright/events"
	"packwright/prep"
)

func (t *telling) openCarton() error {
	if c := t.cartons[t.ask.Carton]; c != nil {
		return fmt.Errorf("carton %s was opened a second time", t.ask.Carton)
	}
	plan := t.Plan
	for name, p := range t.plans {
		for k, q := range p.lines {
			if plan == "" && k.carton == t.ask.Carton && q > 0 {
				plan = name
			}
		}
	}
	t.cartons[t.ask.Carton] = &carton{state: "open", plan: plan}
	return nil
}

// inHand finds a carton whose contents hands may change.
func (t *telling) inHand() (*carton, error) {
	c := t.cartons[t.ask.Carton]
	if c == nil || c.state != "open" && c.state != "counting" && c.state != "counted" {
		return nil, fmt.Errorf("carton %s is not in hand: %+v", t.ask.Carton, c)
	}
	return c, nil
}

// touched: the count or certificate is worth nothing any more.
func (t *telling) touched(c *carton) {
	t.all(t.ask.Carton, events.Counted, events.Prepped)
	c.state, c.count = "open", nil
}

// wanted finds the item a code means: a mark, an item number, or the short code.
func (t *telling) wanted() error {
	if t.ask.Code == "" {
		return nil
	}
	if m, err := prep.ParseMark(t.ask.Code); err == nil {
		t.Marks = prep.NewMarks(append(t.Marks, m)...)
		return nil
	}
	g, err := prep.ParseGTIN(t.ask.Code)
	if err != nil {
		t.Item = t.ask.Code
		return nil
	}
	for _, it := range t.items {
		for _, c := range it.Codes {
			if c.Norm14() == g.Norm14() {
				t.Item = it.Item
			}
		}
	}
	return nil
}

func (t *telling) place() error {
	c, err := t.inHand()
	if err != nil {
		return err
	}
	if err := t.wanted(); err != nil {
		return err
	}
	units, err := t.placed()
	if err != nil {
		return err
	}
	t.touched(c)
	for _, u := range units {
		t.note(u, u.Place, t.ask.Carton)
		u.Place = t.ask.Carton
		if k := (planKey{t.ask.Carton, u.Item, t.lots[u.Lot].owner}); t.plans[c.plan] == nil || t.plans[c.plan].lines[k] == 0 {
			return fmt.Errorf("%s of %s is not on the plan of %s", u.Item, t.lots[u.Lot].owner, t.ask.Carton)
		}
	}
	return t.within(c, units)
}

// within: nothing is placed beyond what the plan has of its item.
func (t *telling) within(c *carton, units []*Unit) error {
	for _, u := range units {
		item := u.Item
		if n, want := t.scanned(t.ask.Carton)[item], t.planned(c, t.ask.Carton)[item]; n > want {
			return fmt.Errorf("%d of %s lie in %s, planned are %d", n, item, t.ask.Carton, want)
		}
	}
	return nil
}

// placed finds the units on their way into a carton: by mark, all of a tote, or
// of the only lot and place they can come from, one at the bench before others.
func (t *telling) placed() ([]*Unit, error) {
	ready := func(u *Unit) bool { return u.Stage == events.Prepped && !t.boxed(u) }
	if len(t.Marks) > 0 {
		return t.take(0, t.Marks, ready)
	}
	from, item := word(t.From), t.Item
	if t.Pour {
		var all []*Unit
		for i := range t.Units {
			if u := &t.Units[i]; ready(u) && u.Place == from && (item == "" || u.Item == item) && (t.ask.Lot == "" || u.Lot == t.ask.Lot) {
				all = append(all, u)
			}
		}
		return all, nil
	}
	fits := func(u *Unit) bool {
		return ready(u) && u.Item == item && (from == "" || u.Place == from) && (t.ask.Lot == "" || u.Lot == t.ask.Lot)
	}
	cells := t.cellsOf(fits)
	if from == "" {
		var near [][2]string
		for _, k := range cells {
			if k[1] == t.Station || k[1] == aside(t.Station) || t.stands[k[1]] == t.Station {
				near = append(near, k)
			}
		}
		if len(near) > 0 {
			cells = near
		}
	}
	if len(cells) != 1 {
		return nil, fmt.Errorf("%d places or lots hold %s that could be meant", len(cells), item)
	}
	return t.take(max(t.Q, 1), nil, at(cells[0][0], events.Prepped, cells[0][1]))
}

// cellsOf lists lot and place of the units a test holds for, each once.
func (m *Model) cellsOf(is func(*Unit) bool) (out [][2]string) {
	seen := map[[2]string]bool{}
	for i := range m.Units {
		if k := [2]string{m.Units[i].Lot, m.Units[i].Place}; is(&m.Units[i]) && !seen[k] {
			seen[k] = true
			out = append(out, k)
		}
	}
	return out
}

// note remembers a move for take-back.
func (t *telling) note(u *Unit, from, to string) {
	for i := range t.done.moves {
		if mv := &t.done.moves[i]; mv.lot == u.Lot && mv.from == from && (len(mv.marks) > 0) == (u.Mark != 0) {
			mv.q++
			if u.Mark != 0 {
				mv.marks = append(mv.marks, u.Mark)
			}
			return
		}
	}
	mv := move{lot: u.Lot, from: from, to: to, q: 1}
	if u.Mark != 0 {
		mv.marks = prep.Marks{u.Mark}
	}
	t.done.moves = append(t.done.moves, mv)
}

func (t *telling) takeOut() error {
	c, err := t.inHand()
	if err != nil {
		return err
	}
	if err := t.wanted(); err != nil {
		return err
	}
	t.touched(c)
	units, err := t.takenOut()
	if err != nil {
		return err
	}
	to := cmp.Or(word(t.To), aside(t.Station))
	for _, u := range units {
		t.note(u, u.Place, to)
		u.Place = to
	}
	return nil
}

// takenOut finds the units that leave a carton: by mark, or of the lot that is
// said, that the tote they go back to tells, or that is the only one with enough.
func (t *telling) takenOut() ([]*Unit, error) {
	in := func(u *Unit) bool { return u.Place == t.ask.Carton && u.Stage == events.Prepped }
	if len(t.Marks) > 0 {
		return t.take(0, t.Marks, in)
	}
	lot := t.ask.Lot
	if there := t.cellsAt(word(t.To)); lot == "" && len(there) == 1 {
		lot = there[0].Lot
	}
	q := max(t.Q, 1)
	var lots []string
	for _, k := range t.cellsOf(func(u *Unit) bool { return in(u) && u.Item == t.Item && u.Mark == 0 && (lot == "" || u.Lot == lot) }) {
		if t.Count(func(u *Unit) bool { return in(u) && u.Lot == k[0] && u.Mark == 0 }) >= q {
			lots = append(lots, k[0])
		}
	}
	if len(lots) != 1 {
		return nil, fmt.Errorf("%d lots in %s could be meant", len(lots), t.ask.Carton)
	}
	return t.take(q, nil, func(u *Unit) bool { return in(u) && u.Lot == lots[0] })
}

// cellsAt lists lot and stage of what lies in a place.
func (m *Model) cellsAt(place string) (out []Unit) {
	for i := range m.Units {
		u := Unit{Lot: m.Units[i].Lot, Stage: m.Units[i].Stage}
		if place == "" || m.Units[i].Place != place || containsUnit(out, u) {
			continue
		}
		out = append(out, u)
	}
	return out
}

func containsUnit(list []Unit, u Unit) bool {
	for _, x := range list {
		if x.Lot == u.Lot && x.Stage == u.Stage {
			return true
		}
	}
	return false
}

func (t *telling) voidCarton() error {
	if n := t.Count(func(u *Unit) bool { return u.Place == t.ask.Carton }); n > 0 {
		return fmt.Errorf("a carton with %d units was voided", n)
	}
	t.cartons[t.ask.Carton] = &carton{state: "void"}
	return nil
}
