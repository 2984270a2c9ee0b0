package workflow

import (
	"packwright/events"
	"packwright/prep"
)

func (f *Floor) labelsPrinted(e *events.Event, d *events.LabelsPrinted) error {
	if d.Carton != "" {
		c := f.Cartons[d.Carton]
		if c == nil {
			return unplaced("carton", d.Carton)
		}
		if d.Kind == events.TeamLiftMark {
			c.Lift = true
			return nil
		}
		c.Label = true
		return nil
	}
	return f.inRun(d.Run, func(r *Run) {
		r.Printed = counted(r.Printed, d.Kind, d.N)
		if d.From != 0 {
			r.Marks = r.Marks.Union(prep.MarksFromTo(d.From, d.To))
			f.reserve(prep.MarksFromTo(d.From, d.To)...)
		}
	})
}

// counted adds to a number by kind.
func counted(m map[events.LabelKind]int, k events.LabelKind, n int) map[events.LabelKind]int {
	if m == nil {
		m = map[events.LabelKind]int{}
	}
	m[k] += n
	return m
}

func (f *Floor) labelsLive(e *events.Event, d *events.LabelsLive) error {
	return f.inRun(d.Run, func(r *Run) {
		for _, m := range prep.MarksFromTo(d.From, d.To) {
			if r.waits(m) {
				r.Live = r.Live.Union(prep.Marks{m})
			}
		}
	})
}

// labelsSpoiled cancels numbered labels: one that turns up on a box is refused.
func (f *Floor) labelsSpoiled(e *events.Event, d *events.LabelsSpoiled) error {
	return f.inRun(d.Run, func(r *Run) {
		r.Torns = counted(r.Torns, d.Kind, d.N)
		if d.From == 0 {
			return
		}
		gone := prep.MarksFromTo(d.From, d.To)
		r.Torn, r.Live = r.Torn.Union(gone), r.Live.Minus(gone)
		for _, m := range gone {
			f.Voided[m] = VoidedMark{At: e.At}
		}
	})
}

func (f *Floor) markVoided(e *events.Event, d *events.MarkVoided) error {
	from, to := Key{d.Lot, d.Stage, d.Place}, Key{d.Lot, events.Unmarked, d.Place}
	if err := f.Ledger.take(from, 1, prep.Marks{d.Mark}); err != nil {
		return err
	}
	f.Ledger.put(to, d.Item, 1, nil)
	v := VoidedMark{At: e.At, Lot: d.Lot}
	if u := f.Units[d.Mark]; u != nil {
		v.Run = u.Run
	}
	f.Voided[d.Mark] = v
	delete(f.Units, d.Mark)
	return nil
}

func (f *Floor) unitMarked(e *events.Event, d *events.UnitMarked) error {
	r := f.Runs[d.Run]
	if r == nil {
		return unplaced("run", d.Run)
	}
	if err := f.Ledger.take(Key{d.Lot, events.Unmarked, d.From}, 1, nil); err != nil {
		return err
	}
	if t := f.tote(d.To); t != nil {
		t.joinRuns([]string{d.Run})
	}
	f.Ledger.put(Key{d.Lot, events.Prepped, d.To}, d.Item, 1, prep.Marks{d.Mark})
	f.Units[d.Mark] = &Unit{Lot: d.Lot, Run: d.Run, Recipe: r.Recipe, Rev: r.Rev}
	f.reserve(d.Mark)
	if d.Replaces != 0 {
		v := f.Voided[d.Replaces]
		v.By = d.Mark
		f.Voided[d.Replaces] = v
	}
	return nil
}

// reserve keeps marks from ever being printed again. The next free number lies
// beyond all of them.
func (f *Floor) reserve(marks ...prep.Mark) {
	f.Printed.Add(marks...)
	for _, m := range marks {
		f.Next.Mark = max(f.Next.Mark, m+1)
	}
}
