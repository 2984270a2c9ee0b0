package audit

import (
	"fmt"
	"slices"

	"packwright/events"
)

// use is a lot of material that a run's units got, from the unit of ordinal From
// to the unit of ordinal To; To 0: to the end, none: no unit got it after all.
type use struct {
	Material, MatLot name
	For              name // the recipe's material in whose place it was used; 0: its own
	From, To         int
	Ref              ref
}

const none = -1

// matlot is a lot of material, the runs that drew from it, and what came in.
type matlot struct {
	Material name
	Runs     []runID
	Mixed    []runID // of which not every unit may have got of it
	Stock    stock
	Trail    trail
}

func (f *Fold) materialDrawn(e *events.Event, d *events.MaterialDrawn) error {
	id, r, err := f.runOf(e, d.Run)
	if err != nil {
		return err
	}
	f.drew(e, id, d.Material, d.MatLot)
	f.uses(id, r, func() {
		r.Materials = append(r.Materials, use{Material: f.names.id(d.Material), MatLot: f.names.id(d.MatLot), From: r.Made + 1, Ref: refOf(e.Seq)})
	})
	return nil
}

func (f *Fold) materialSwapped(e *events.Event, d *events.MaterialSwapped) error {
	id, r, err := f.runOf(e, d.Run)
	if err != nil {
		return err
	}
	material, from := f.names.id(d.Material), f.names.id(d.From)
	if !slices.ContainsFunc(r.Materials, func(u use) bool { return u.Material == material && u.MatLot == from && u.To == 0 }) {
		return fmt.Errorf("run %s does not use %s %s", d.Run, d.Material, d.From)
	}
	f.drew(e, id, d.Material, d.To)
	f.uses(id, r, func() {
		start := r.endUses(material, from, d.AtUnit)
		r.Materials = append(r.Materials, use{Material: material, MatLot: f.names.id(d.To), For: r.placeOf(material), From: start, Ref: refOf(e.Seq)})
	})
	return nil
}

// endUses closes the uses of a lot after so many units, and says with which unit
// the next lot begins: what an earlier lot had stays that lot's.
func (r *run) endUses(material, matlot name, at int) int {
	start := at + 1
	for i := range r.Materials {
		if u := &r.Materials[i]; u.Material == material && u.MatLot == matlot && u.To == 0 {
			start = max(start, u.From)
			u.end(at)
		}
	}
	return start
}

// uses changes which lots of material a run's units got.
func (f *Fold) uses(id runID, r *run, change func()) {
	f.resort(id, change)
	for _, u := range r.Materials {
		m := f.matlots[f.names.text(u.MatLot)]
		if (u.From > 1 || u.To != 0) && !slices.Contains(m.Mixed, id) {
			m.Mixed = append(m.Mixed, id)
		}
	}
}

func (f *Fold) drew(e *events.Event, id runID, material, lot string) {
	m := f.matlotOf(e, lot, material)
	if !slices.Contains(m.Runs, id) {
		m.Runs = append(m.Runs, id)
	}
}

func (f *Fold) matlotOf(e *events.Event, lot, material string) *matlot {
	m := f.matlots[lot]
	if m == nil {
		m = &matlot{Material: f.names.id(material)}
		f.matlots[lot] = m
		f.setOfKey(setKey{kind: ofMaterial, of: int32(f.names.id(lot))})
	}
	m.Trail.add(e.Seq.Frame)
	return m
}

// end closes a use after so many units of the run.
func (u *use) end(at int) {
	if u.To = at; at < u.From {
		u.To = none
	}
}

// units counts the units of a run of n that got it.
func (u use) units(n int) int {
	if u.To != 0 {
		n = min(n, u.To)
	}
	return max(n-u.From+1, 0)
}

// has says whether the unit of an ordinal used this material lot. Ordinal 0, not
// known, has used all the run did.
func (u use) has(ordinal int) bool {
	return ordinal == 0 && u.To != none || u.From <= ordinal && (u.To == 0 || ordinal <= u.To)
}
