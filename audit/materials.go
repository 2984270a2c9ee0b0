package audit

import (
	"fmt"
	"slices"

	"packwright/events"
)

// use is a lot of material that a run's units got, from the unit of ordinal From
// to the unit of ordinal To; To 0: to the end.
type use struct {
	Material, MatLot name
	From, To         int
	Ref              ref
}

// matlot is a lot of material and the runs that drew from it.
type matlot struct {
	Material name
	Runs     []runID
	Trail    trail
}

func (f *Fold) materialDrawn(e *events.Event, d *events.MaterialDrawn) error {
	id, r, err := f.runOf(e, d.Run)
	if err != nil {
		return err
	}
	r.Materials = append(r.Materials, use{Material: f.names.id(d.Material), MatLot: f.names.id(d.MatLot), From: r.Made + 1, Ref: refOf(e.Seq)})
	f.drew(e, id, d.Material, d.MatLot)
	return nil
}

func (f *Fold) materialSwapped(e *events.Event, d *events.MaterialSwapped) error {
	id, r, err := f.runOf(e, d.Run)
	if err != nil {
		return err
	}
	material, from := f.names.id(d.Material), f.names.id(d.From)
	found := false
	for i := range r.Materials {
		if u := &r.Materials[i]; u.Material == material && u.MatLot == from && u.To == 0 {
			u.To, found = d.AtUnit, true
		}
	}
	if !found {
		return fmt.Errorf("run %s does not use %s %s", d.Run, d.Material, d.From)
	}
	r.Materials = append(r.Materials, use{Material: material, MatLot: f.names.id(d.To), From: d.AtUnit + 1, Ref: refOf(e.Seq)})
	f.drew(e, id, d.Material, d.To)
	return nil
}

func (f *Fold) drew(e *events.Event, id runID, material, lot string) {
	m := f.matlots[lot]
	if m == nil {
		m = &matlot{Material: f.names.id(material)}
		f.matlots[lot] = m
	}
	if !slices.Contains(m.Runs, id) {
		m.Runs = append(m.Runs, id)
	}
	m.Trail.add(e.Seq.Frame)
}

// has says whether the unit of an ordinal used this material lot. Ordinal 0, not
// known, has used all the run did.
func (u use) has(ordinal int) bool {
	return ordinal == 0 || u.From <= ordinal && (u.To == 0 || ordinal <= u.To)
}
