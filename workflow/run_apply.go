package workflow

import (
	"maps"
	"slices"

	"packwright/events"
	"packwright/prep"
)

func (f *Floor) runOpened(e *events.Event, d *events.RunOpened) error {
	if f.Runs[d.Run] != nil {
		return unplaced("a second run", d.Run)
	}
	f.Runs[d.Run] = f.newRun(d, e.Station, e.Badge, e.At)
	f.Next.Run = max(f.Next.Run, runNumber(d.Run))
	if s := f.Stations[e.Station]; s != nil && !f.missingLabels(s.LastRun) {
		s.LastRun = "" // they were found, or the matter was settled
	}
	return nil
}

// inRun changes a run that must be there.
func (f *Floor) inRun(run string, change func(*Run)) error {
	r := f.Runs[run]
	if r == nil {
		return unplaced("run", run)
	}
	change(r)
	return nil
}

func (f *Floor) runPaused(e *events.Event, d *events.RunPaused) error {
	return f.inRun(d.Run, func(r *Run) { r.State, r.PausedAt = RunPaused, e.At })
}

func (f *Floor) runResumed(e *events.Event, d *events.RunResumed) error {
	return f.inRun(d.Run, func(r *Run) {
		r.Idle += e.At.Sub(r.PausedAt).Milliseconds()
		r.State, r.PausedAt = RunOpen, events.Time{}
	})
}

func (f *Floor) runHandedOver(e *events.Event, d *events.RunHandedOver) error {
	return f.inRun(d.Run, func(r *Run) { r.Station, r.Badge = d.To, d.ToBadge })
}

// runClosed keeps of a run what its units and labels may still be asked about.
func (f *Floor) runClosed(e *events.Event, d *events.RunClosed) error {
	return f.inRun(d.Run, func(r *Run) {
		r.State = RunClosed
		r.Checked, r.Materials, r.Since, r.Instead, r.Live = nil, nil, nil, nil, nil
		if f.marked(r) {
			r.LabelsBack = d.Labels.Returned
		}
		if s := f.Stations[r.Station]; s != nil && d.Balance != 0 {
			s.LastRun = r.Run
		}
	})
}

func (f *Floor) materialDrawn(e *events.Event, d *events.MaterialDrawn) error {
	f.nameLot(d.MatLot, d.Material).Runs[d.Run] += 0
	return f.inRun(d.Run, func(r *Run) { r.uses(d.Material, d.MatLot, r.done()) })
}

func (f *Floor) materialSwapped(e *events.Event, d *events.MaterialSwapped) error {
	f.nameLot(d.To, d.Material).Runs[d.Run] += 0
	return f.inRun(d.Run, func(r *Run) { r.uses(d.Material, d.To, max(d.AtUnit, r.Since[d.Material])) })
}

// uses puts a lot of material into use after so many units.
func (r *Run) uses(material, lot string, since int) {
	if r.Materials == nil {
		r.Materials, r.Since = map[string]string{}, map[string]int{}
	}
	r.Materials[material], r.Since[material] = lot, since
}

func (f *Floor) stepChecked(e *events.Event, d *events.StepChecked) error {
	f.undoable(e, Undo{Run: d.Run, Step: d.Step, Q: d.N})
	return f.inRun(d.Run, func(r *Run) {
		r.Checked = withCheck(r, d, e.At)
		if recipe, l := f.recipeOf(r), f.Lots[r.source().Lot]; recipe != nil && l != nil && !d.OK && d.N > 0 {
			s, _ := recipe.Step(d.Step)
			l.Leaked = l.Leaked || s.OneIn > 0
			r.Every = l.Leaked
		}
	})
}

func (f *Floor) unitsPrepped(e *events.Event, d *events.UnitsPrepped) error {
	r := f.Runs[d.Run]
	if r == nil {
		return unplaced("run", d.Run)
	}
	if err := f.Ledger.take(Key{d.Lot, events.Triaged, d.From}, d.Q, nil); err != nil {
		return err
	}
	if t := f.tote(d.To); t != nil {
		if !slices.ContainsFunc(f.Ledger.At(d.To), func(c *Cell) bool { return c.Stage == events.Prepped }) {
			t.Runs = nil // of units that lay there before
		}
		t.joinRuns([]string{d.Run})
	}
	f.Ledger.put(Key{d.Lot, events.Prepped, d.To}, d.Item, d.Q, d.Marks)
	for _, m := range d.Marks {
		f.Units[m] = &Unit{Lot: d.Lot, Run: d.Run, Recipe: d.Recipe, Rev: r.Rev}
	}
	r.finish(d, f.recipeOf(r))
	r.Out = d.To
	return nil
}

// finish counts finished units. The tool has been used again: whoever closes
// the run looks anew.
func (r *Run) finish(d *events.UnitsPrepped, recipe *prep.Recipe) {
	r.Made += d.Q
	if r.Set == 0 {
		r.Used += d.Q
	}
	r.UsedMarks, r.Live = r.UsedMarks.Union(d.Marks), r.Live.Minus(d.Marks)
	if recipe == nil {
		return
	}
	for _, s := range recipe.Steps {
		if _, was := r.Checked[s.ID]; was && atClose(s) {
			r.Checked = maps.Clone(r.Checked)
			delete(r.Checked, s.ID)
		}
	}
}

func (f *Floor) unitSpoiled(e *events.Event, d *events.UnitSpoiled) error {
	r := f.Runs[d.Run]
	if r == nil {
		return unplaced("run", d.Run)
	}
	var marks prep.Marks
	if d.Mark != 0 {
		marks = prep.Marks{d.Mark}
	}
	from, to := Key{d.Lot, d.Stage, d.From}, Key{d.Lot, d.Verdict.Stage(), d.To}
	if err := f.Ledger.move(from, to, d.Item, d.Q, marks); err != nil {
		return err
	}
	if d.Verdict == events.ToHold {
		h := &Hold{Hold: d.Hold, Lot: d.Lot, Item: d.Item, Stage: d.Stage, From: d.From, Place: d.To, Q: d.Q, Marks: marks, Reason: d.Cause}
		if d.Stage == events.Prepped {
			h.Runs = []string{d.Run}
		}
		f.newHold(h)
	} else {
		f.spend(marks)
	}
	r.spoil(d, f.recipeOf(r))
	return nil
}

// spoil counts spoiled units. What was finished is lost; of a set, the parts
// stay consumed. The step that a bad piece kept open is settled with it, and
// what was confirmed of the piece at earlier steps counts no longer.
func (r *Run) spoil(d *events.UnitSpoiled, recipe *prep.Recipe) {
	set := r.Set > 0 && d.Lot == r.Bundle
	switch {
	case d.Stage == events.Prepped:
		r.Made, r.Lost = r.Made-d.Q, r.Lost+d.Q
		if !set {
			r.Used, r.Spoiled = r.Used-d.Q, r.Spoiled+d.Q
		}
		return
	case !set:
		r.Spoiled += d.Q
	}
	if d.Step == "" || recipe == nil {
		return
	}
	r.Checked = maps.Clone(r.Checked)
	for _, s := range recipe.Steps {
		c, was := r.Checked[s.ID]
		if s.ID == d.Step {
			if was {
				c.OK = c.All || c.N > 0 || c.OK
				r.Checked[s.ID] = c
			}
			return
		}
		if was && sampled(s) && !c.All {
			c.N = max(c.N-d.Q, r.done())
			r.Checked[s.ID] = c
		}
	}
}

func (f *Floor) bundleBuilt(e *events.Event, d *events.BundleBuilt) error {
	r := f.Runs[d.Run]
	if r == nil {
		return unplaced("run", d.Run)
	}
	l := f.Lots[d.Lot]
	if l == nil {
		l = &Lot{Lot: d.Lot, Kind: "bundle", Item: d.Item, Owner: d.Owner, Closed: true}
		f.Lots[d.Lot] = l
	}
	var cost prep.Money
	for _, c := range d.Components {
		if err := f.Ledger.move(Key{c.Lot, c.Stage, c.From}, Key{Lot: c.Lot, Stage: events.Consumed}, c.Item, c.Q, c.Marks); err != nil {
			return err
		}
		f.spend(c.Marks)
		if r.took(c) {
			r.Used += c.Q
		}
		if from := f.Lots[c.Lot]; from != nil {
			cost += from.UnitCost.Times(int64(c.Q), 1)
			l.Expiry = earlier(l.Expiry, from.Expiry)
		}
	}
	l.UnitCost = (l.UnitCost.Times(int64(l.Received), 1) + cost).Times(1, int64(l.Received+d.Q))
	l.Expected, l.Received = l.Expected+d.Q, l.Received+d.Q
	f.Ledger.put(Key{d.Lot, events.Triaged, d.To}, d.Item, d.Q, nil)
	r.Bundle, r.Stand = d.Lot, d.To
	return nil
}

// earlier gives the earlier of two best-before dates; none is later than any. A
// month without a day lasts to its end.
func earlier(a, b string) string {
	day := func(s string) string {
		if len(s) == len("2033-01") {
			return s + "-31"
		}
		return s
	}
	if a == "" || b != "" && day(b) < day(a) {
		return b
	}
	return a
}
