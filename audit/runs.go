package audit

import (
	"fmt"
	"slices"

	"packwright/events"
	"packwright/prep"
)

// run is one tote's units, one recipe, one bench, one revision of the rules.
type run struct {
	Lot                   lotID   // whose units it takes in hand
	Also                  []lotID // what it built of them
	Item, Tote, Recipe    name
	Clear, ClearBy, Lead  name
	Station, Badge        name // who has it now
	Q, Rev                int
	Made                  int // units brought to stage prepped
	Opened, Closed        fact
	Paused                bool
	Warm                  bool // a step by warm air was done in it
	Batches               []batch
	Marks                 []span
	Again                 []prep.Mark // marks given later to units that may be this run's
	Materials             []use
	Labels                []labels
	Spoiled               []spoil
	Balance               events.LabelBalance
	In, Used, Back, Wrong int // as the run was closed; Wrong: labels not accounted for
	IdleS                 int
	Trail                 trail

	self []runID // just itself, shared by the heaps it fills
}

// batch is units that one badge finished at one bench, one after another.
type batch struct {
	Fact  fact  // of the first
	From  stamp // mostly when the first was told to be made
	Last  stamp
	First int // ordinal of the first unit
	N     int
}

// span is marks in the order of the run's units: From is the unit of ordinal At.
type span struct {
	From, To prep.Mark
	At       int
}

type spoil struct {
	N     int
	Cause name
	To    events.Verdict
	Fact  fact
}

func (f *Fold) runOf(e *events.Event, name string) (runID, *run, error) {
	id, ok := f.runs.find(name)
	if !ok {
		return 0, nil, fmt.Errorf("there is no run %q", name)
	}
	r := f.runs.change(id)
	r.Trail.add(e.Seq.Frame)
	return id, r, nil
}

func (f *Fold) runOpened(e *events.Event, d *events.RunOpened) error {
	if _, ok := f.runs.find(d.Run); ok || d.Run == "" {
		return fmt.Errorf("run %q was opened before", d.Run)
	}
	lot, ok := f.lots.find(d.Lot)
	if !ok {
		return fmt.Errorf("there is no lot %q", d.Lot)
	}
	id := f.runs.id(d.Run)
	r := f.runs.change(id)
	r.Lot, r.Q, r.Rev, r.Opened = lot, d.Q, d.RulesRev, f.fact(e)
	r.Item, r.Tote, r.Recipe = f.names.id(d.Item), f.names.id(d.Tote), f.names.id(d.Recipe)
	r.Clear, r.ClearBy, r.Lead = f.names.id(d.Clear), f.names.id(d.ClearBy), f.names.id(d.Lead)
	r.Station, r.Badge = r.Opened.Station, r.Opened.Badge
	k := f.kinOf(id)
	k.Rev, k.Recipe = int32(d.RulesRev), r.Recipe
	k.seen(r.Opened.At)
	f.setOfKey(setKey{ofRules, int32(r.Recipe), int32(r.Rev)})
	f.setOfKey(setKey{ofRecipe, int32(r.Recipe), 0})
	r.Trail.add(e.Seq.Frame)
	f.touch(e, d.Tote, f.lots.change(lot))
	f.joinLot(lot, id)
	return nil
}

func (f *Fold) runPaused(e *events.Event, d *events.RunPaused) error { return f.pause(e, d.Run, true) }

func (f *Fold) runResumed(e *events.Event, d *events.RunResumed) error {
	return f.pause(e, d.Run, false)
}

func (f *Fold) pause(e *events.Event, name string, on bool) error {
	_, r, err := f.runOf(e, name)
	if err == nil {
		r.Paused = on
	}
	return err
}

func (f *Fold) runHandedOver(e *events.Event, d *events.RunHandedOver) error {
	_, r, err := f.runOf(e, d.Run)
	if err == nil {
		r.Station, r.Badge = f.names.id(d.To), f.names.id(d.ToBadge)
	}
	return err
}

func (f *Fold) runClosed(e *events.Event, d *events.RunClosed) error {
	_, r, err := f.runOf(e, d.Run)
	if err != nil {
		return err
	}
	r.Closed = f.fact(e)
	r.In, r.Used, r.Back, r.Wrong, r.IdleS, r.Balance = d.In, d.Used, d.Returned, d.Balance, d.IdleS, d.Labels
	return nil
}

func (f *Fold) stepChecked(e *events.Event, d *events.StepChecked) error {
	id, r, err := f.runOf(e, d.Run)
	if err == nil {
		f.warmed(id, r, d)
	}
	return err
}

func (f *Fold) unitsPrepped(e *events.Event, d *events.UnitsPrepped) error {
	id, r, err := f.runOf(e, d.Run)
	if err != nil {
		return err
	}
	lot, err := f.lotOf(d.Lot, d.Item)
	if err != nil {
		return err
	}
	if d.Q < 1 || len(d.Marks) > 0 && len(d.Marks) != d.Q {
		return fmt.Errorf("%d units with %d marks", d.Q, len(d.Marks))
	}
	from, ok := f.places.find(d.From)
	if !ok {
		return fmt.Errorf("nothing was ever in %q", d.From)
	}
	h, err := f.take(from, lot, triaged, d.Q)
	if err != nil {
		return err
	}
	at, to := stampOf(e.At), f.placeOf(d.To)
	if len(d.Marks) == 0 {
		h.Stage, h.First, h.Last, h.Runs = prepped, at, at, unionRuns(r.self, h.Runs)
		f.put(to, h)
	}
	for i, m := range d.Marks {
		if err := f.bind(m, to, lot, refOf(e.Seq), at); err != nil {
			return err
		}
		u := f.unit(m)
		u.Run, u.Ordinal = id, int32(r.Made+i+1)
		f.kinMark(m, u, 1)
		f.gotMark(m)
		r.mark(m, r.Made+i+1)
	}
	f.makes(id, r, f.fact(e), d.Q)
	f.kinOf(id).seen(at)
	f.touch(e, d.To, nil)
	return nil
}

// bind lays a mark that was never used on a unit at stage prepped.
func (f *Fold) bind(m prep.Mark, at placeID, lot lotID, place ref, when stamp) error {
	u := f.unit(m)
	if u.State != neverBound {
		return fmt.Errorf("%s was used before", m)
	}
	f.putMark(m, at, lot, prepped)
	u.Prepped, u.PreppedAt = place, when
	return nil
}

// mark keeps which mark the unit of an ordinal got.
func (r *run) mark(m prep.Mark, ordinal int) {
	if n := len(r.Marks); n > 0 {
		if s := &r.Marks[n-1]; s.To+1 == m && s.At+int(s.To-s.From)+1 == ordinal {
			s.To = m
			return
		}
	}
	r.Marks = append(r.Marks, span{m, m, ordinal})
}

// by gives the batch of the unit of an ordinal.
func (r *run) by(ordinal int) batch {
	for _, b := range r.Batches {
		if b.First <= ordinal && ordinal < b.First+b.N {
			return b
		}
	}
	return batch{Fact: fact{Station: r.Station, Badge: r.Badge}}
}

// madeBy says who made the unit of an ordinal, and at which bench.
func (r *run) madeBy(ordinal int) shiftKey {
	b := r.by(ordinal)
	return shiftKey{b.Fact.Station, b.Fact.Badge}
}

func (f *Fold) unitSpoiled(e *events.Event, d *events.UnitSpoiled) error {
	_, r, err := f.runOf(e, d.Run)
	if err != nil {
		return err
	}
	if !slices.Contains([]events.Verdict{events.ToHold, events.ToDivert, events.ToWriteOff}, d.Verdict) {
		return fmt.Errorf("a spoiled unit cannot go to %q", d.Verdict)
	}
	r.Spoiled = append(r.Spoiled, spoil{N: d.Q, Cause: f.names.id(d.Cause), To: d.Verdict, Fact: f.fact(e)})
	to, err := stageOf(d.Verdict.Stage())
	if err != nil {
		return err
	}
	if to == held {
		f.hold(e, d.Hold, hold{N: d.Q, Reason: "spoiled: " + d.Cause, Place: f.names.id(d.To)}, d.Lot)
	}
	g := goods{lot: d.Lot, item: d.Item, q: d.Q}
	if d.Mark > 0 {
		g.marks = prep.Marks{d.Mark}
	}
	return f.exit(e, g, d.Stage, d.From, spot{to, d.To})
}
