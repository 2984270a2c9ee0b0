package plain

import (
	"cmp"
	"encoding/json"
	"fmt"

	"packwright/events"
	"packwright/prep"
)

func jsonInto(b []byte, v any) error { return json.Unmarshal(b, v) }

func (t *telling) openRun() error {
	lot, tote := t.ask.Lot, t.toteOf(t.Tote, t.ask.Lot)
	for i := range t.Units {
		if u := &t.Units[i]; lot == "" && u.Place == tote && u.Stage == events.Triaged {
			lot = u.Lot
		}
	}
	if lot == "" {
		return fmt.Errorf("no triaged unit lies in %s", tote)
	}
	q := t.Q
	if q == 0 {
		q = t.loose(lot, tote)
	}
	t.runs[cmp.Or(t.Run, t.nextRun())] = &run{tote: tote, lot: lot, item: cmp.Or(t.Item, t.lots[lot].item), station: t.Station, rev: t.rev, left: q}
	return nil
}

func (t *telling) closeRun() error {
	r, err := t.theRun()
	if err == nil {
		r.shut = true
	}
	return err
}

func (t *telling) handOverRun() error {
	r, err := t.theRun()
	if err == nil {
		r.station = cmp.Or(word(t.To), t.Station)
	}
	return err
}

// theRun is the one named, or the one open at the bench. In a house without
// explicit runs the first scan of a lot opens it, and shuts the one before.
func (t *telling) theRun() (*run, error) {
	if r := t.runs[t.Run]; r != nil {
		return r, nil
	}
	lot := cmp.Or(t.ask.Lot, t.Tote)
	for _, r := range t.runs {
		if !r.shut && r.station == t.Station && t.Run == "" && (t.ask.Lot == "" || r.lot == t.ask.Lot) && (t.Tote == "" || r.tote == t.Tote) {
			t.begun[t.Station] = r
			return r, nil
		}
	}
	if r := t.begun[t.Station]; r != nil && t.Run != "" && t.house.NoRuns {
		t.runs[t.Run] = r // the floor has named what the first scan began
		return r, nil
	}
	if !t.house.NoRuns || t.Run != "" || t.lots[lot] == nil {
		return nil, fmt.Errorf("no run %q is known at %s", t.Run, t.Station)
	}
	for _, r := range t.runs {
		if r.station == t.Station {
			r.shut = true
		}
	}
	tote := t.toteOf(t.Tote, lot)
	r := &run{tote: tote, lot: lot, item: t.lots[lot].item, station: t.Station, rev: t.rev, left: t.loose(lot, tote)}
	t.runs[t.nextRun()], t.begun[t.Station] = r, r
	return r, nil
}

// loose counts the triaged pieces of a tote that no run has in hand.
func (m *Model) loose(lot, tote string) int {
	n := m.Count(at(lot, events.Triaged, tote))
	for _, r := range m.runs {
		if !r.shut && r.lot == lot && r.tote == tote {
			n -= r.left
		}
	}
	return n
}

// worked notes pieces made, consumed or spoiled. In a house without explicit
// runs the last one ends the run, when no set that it built waits.
func (m *Model) worked(r *run, q int) {
	r.left -= q
	waits := r.sets != "" && m.Count(r.source()) > 0
	r.shut = r.shut || m.house.NoRuns && r.left == 0 && !waits
}

// mayEnd: in a house without explicit runs, whatever is said of a run may be the
// last that it waited for.
func (t *telling) mayEnd() error {
	if r := t.runs[t.Run]; r != nil {
		t.worked(r, 0)
	}
	return nil
}

// nextRun is one more than the highest number a run has.
func (m *Model) nextRun() string {
	top := 0
	for name := range m.runs {
		n := 0
		if _, err := fmt.Sscanf(name, "R-%d", &n); err == nil && name == fmt.Sprintf("R-%02d", n) {
			top = max(top, n)
		}
	}
	return fmt.Sprintf("R-%02d", top+1)
}

// numbered says whether labels of a kind carry marks in a run: on goods traced
// by mark, the keep-sealed label where the recipe has one, else the item label.
func (m *Model) numbered(r *run, kind string) bool {
	it, book := m.items[r.item], m.books[r.rev]
	if book == nil || it.Trace != prep.TraceMark {
		return false
	}
	carrier := "item"
	for _, l := range book.Recipe(it).Labels {
		if l.ID == "keep-sealed" {
			carrier = "keep-sealed"
		}
	}
	return kind == carrier
}

func (t *telling) printLabels() error {
	if t.ask.Carton != "" {
		return nil
	}
	r, err := t.theRun()
	if err == nil && t.numbered(r, t.Kind) {
		t.nextMark = max(t.nextMark, cmp.Or(t.MarksFrom, t.nextMark)+prep.Mark(t.N))
	}
	return err
}

// printAgain prints as many as it spoils: numbered ones when a range is named.
func (t *telling) printAgain() error {
	var from, to prep.Mark
	if word(t.From) == "" {
		return nil
	}
	if err := from.UnmarshalText([]byte(word(t.From))); err != nil {
		return err
	}
	if err := to.UnmarshalText([]byte(cmp.Or(word(t.To), word(t.From)))); err != nil {
		return err
	}
	t.nextMark += to - from + 1
	return nil
}

// source tells of the units a run finishes: in its tote, or the sets it built.
func (r *run) source() func(*Unit) bool {
	if r.sets != "" {
		return at(r.sets, events.Triaged, r.stand)
	}
	return at(r.lot, events.Triaged, r.tote)
}

func (t *telling) finishUnits() error {
	r, err := t.theRun()
	if err != nil {
		return err
	}
	q := max(t.Q, len(t.Marks))
	if q == 0 { // all that is left of the run
		if q = t.Count(r.source()); r.sets == "" {
			q = min(q, r.left)
		}
	}
	units, err := t.take(q, nil, r.source())
	if err != nil {
		return err
	}
	to := cmp.Or(word(t.To), r.out, r.tote)
	r.out = to
	for i, u := range units {
		u.Stage, u.Place = events.Prepped, to
		if len(t.Marks) > 0 {
			if n := t.Count(func(u *Unit) bool { return u.Mark == t.Marks[i] }); n > 0 {
				return fmt.Errorf("%s is on two units", t.Marks[i])
			}
			u.Mark = t.Marks[i]
		}
	}
	if r.sets == "" {
		t.worked(r, len(units))
	} else {
		t.worked(r, 0)
	}
	return nil
}

// spoil takes a piece in hand, a set that was built, or a finished one by its
// label. A label that is on no finished unit goes with a piece in hand.
func (t *telling) spoil() error {
	r, err := t.theRun()
	if err != nil {
		return err
	}
	is, marks := at(r.lot, events.Triaged, r.tote), prep.Marks(nil)
	if r.sets != "" && (t.Item == r.item || t.Mark != 0) {
		is = r.source()
	}
	if t.Mark != 0 && t.Count(func(u *Unit) bool { return u.Mark == t.Mark }) > 0 {
		is, marks = func(u *Unit) bool { return u.Stage == events.Prepped && !t.boxed(u) }, prep.Marks{t.Mark}
	}
	units, err := t.take(max(t.Q, 1), marks, is)
	if err != nil {
		return err
	}
	q := 0
	if units[0].Stage == events.Triaged && units[0].Lot == r.lot {
		q = len(units)
	}
	err = t.sent(units, r.tote)
	t.worked(r, q)
	return err
}

// buildBundle consumes parts of the run's tote and makes sets, a lot of their own.
func (t *telling) buildBundle() error {
	r, err := t.theRun()
	if err != nil {
		return err
	}
	parts, err := t.take(t.Q*t.items[r.item].Pieces(), nil, at(r.lot, events.Triaged, r.tote))
	if err != nil {
		return err
	}
	gone(parts, events.Consumed)
	r.left -= len(parts)
	if r.sets == "" {
		r.sets, r.stand = t.setLot(r), t.Station
		if t.house.NoTotes {
			r.stand = r.sets
		}
		t.lots[r.sets] = &lot{item: r.item, owner: t.lots[r.lot].owner}
	}
	t.make(r.sets, r.item, events.Triaged, r.stand, t.Q)
	return nil
}

// setLot names the lot of the sets that are made of a lot: the next name when
// those made before have all left.
func (m *Model) setLot(r *run) string {
	name := r.lot + "/B"
	for n := 2; m.lots[name] != nil && m.lots[name].over; n++ {
		name = fmt.Sprintf("%s/B%d", r.lot, n)
	}
	return name
}

// voidMark leaves the unit without one; a label on no unit is only paper.
func (t *telling) voidMark() error {
	if t.Count(func(u *Unit) bool { return u.Mark == t.Mark }) == 0 {
		return nil
	}
	units, err := t.take(1, prep.Marks{t.Mark}, func(u *Unit) bool { return u.Stage == events.Prepped && !t.boxed(u) })
	for _, u := range units {
		u.Stage, u.Mark = events.Unmarked, 0
	}
	return err
}

func (t *telling) remark() error {
	from := t.toteOf(word(t.From), t.ask.Lot)
	units, err := t.take(1, nil, at(t.ask.Lot, events.Unmarked, from))
	for _, u := range units {
		u.Stage, u.Place, u.Mark = events.Prepped, cmp.Or(word(t.To), from), t.nextMark
		t.nextMark++
	}
	return err
}
