package audit

import (
	"fmt"

	"packwright/events"
	"packwright/prep"
)

// stock is what came in of a lot of material and what people said of it. What
// went out is not kept: it follows from the runs that used it.
type stock struct {
	Unit     string
	Received prep.Fixed
	Issued   prep.Fixed
	Cost     prep.Money // of all received
	Boxes    int        // cartons opened with one of it
	Shift    prep.Fixed // what counts added to received less used; below 0 when less was there
	Counted  *tallied
	Blocked  fact // Ref 0: it is not
	Reason   string
}

// tallied is the last count of a lot, beside what was expected then.
type tallied struct {
	Q, Expected prep.Fixed
	Fact        fact
}

// low is a material that fell to its reorder point.
type low struct {
	Material        name
	OnHand, Reorder prep.Fixed
	Fact            fact
}

// rate is what something costs from a moment on.
type rate struct {
	Set  events.RateSet
	Fact fact
}

func (f *Fold) supplyReceived(e *events.Event, d *events.SupplyReceived) error {
	if d.Q <= 0 || d.Cost < 0 {
		return fmt.Errorf("%s of lot %s for %s", d.Q, d.MatLot, d.Cost)
	}
	m := f.matlotOf(e, d.MatLot, d.Material)
	if m.Stock.Received == 0 { // a bench may have said otherwise before
		m.Material = f.names.id(d.Material)
	}
	if m.Material != f.names.id(d.Material) {
		return fmt.Errorf("lot %s is of %s, not of %s", d.MatLot, f.names.text(m.Material), d.Material)
	}
	s := &m.Stock
	s.Unit = d.Unit
	s.Received += d.Q
	s.Cost += d.Cost
	return nil
}

func (f *Fold) supplyIssued(e *events.Event, d *events.SupplyIssued) error {
	m, err := f.stocked(e, d.MatLot)
	if err == nil {
		m.Stock.Issued += d.Q
	}
	return err
}

func (f *Fold) supplyCounted(e *events.Event, d *events.SupplyCounted) error {
	m, err := f.stocked(e, d.MatLot)
	if err != nil {
		return err
	}
	expected := f.onHand(d.MatLot, m)
	m.Stock.Counted = &tallied{d.Q, expected, f.fact(e)}
	m.Stock.Shift += d.Q - expected
	return nil
}

func (f *Fold) stocked(e *events.Event, lot string) (*matlot, error) {
	m := f.matlots[lot]
	if m == nil || m.Stock.Received == 0 {
		return nil, fmt.Errorf("lot %s of material was never received", lot)
	}
	m.Trail.add(e.Seq.Frame)
	return m, nil
}

func (f *Fold) supplyLow(e *events.Event, d *events.SupplyLow) error {
	f.lows = append(f.lows, low{f.names.id(d.Material), d.OnHand, d.Reorder, f.fact(e)})
	return nil
}

func (f *Fold) supplySubstituted(e *events.Event, d *events.SupplySubstituted) error {
	id, r, err := f.runOf(e, d.Run)
	if err != nil {
		return err
	}
	was, from := d.Was, f.names.id(d.From)
	if was == "" {
		was = d.Material
	}
	next := use{Material: f.names.id(d.By), MatLot: f.names.id(d.MatLot), From: d.AtUnit + 1, Ref: refOf(e.Seq)}
	if d.By != d.Material {
		next.For = f.names.id(d.Material)
	}
	f.drew(e, id, d.By, d.MatLot)
	f.uses(id, r, func() {
		if d.From != "" {
			r.endUses(f.names.id(was), from, d.AtUnit)
		}
		r.Materials = append(r.Materials, next)
	})
	return nil
}

// placeOf says in whose place a run uses a material; 0: in its own.
func (r *run) placeOf(material name) name {
	for i := len(r.Materials) - 1; i >= 0; i-- {
		if r.Materials[i].Material == material {
			return r.Materials[i].For
		}
	}
	return 0
}

func (f *Fold) matLotBlocked(e *events.Event, d *events.MatLotBlocked) error {
	m := f.matlotOf(e, d.MatLot, d.Material)
	m.Stock.Blocked, m.Stock.Reason = f.fact(e), d.Reason
	return nil
}

func (f *Fold) rateSet(e *events.Event, d *events.RateSet) error {
	if d.Minor < 0 {
		return fmt.Errorf("a rate of %s", d.Minor)
	}
	f.rates = append(f.rates, rate{*d, f.fact(e)})
	return nil
}

// RateAt gives what something cost at a moment by the rates set: the one that
// began last before it, of two that began together the one set later.
func (f *Fold) RateAt(kind events.RateKind, key string, at events.Time) (events.RateSet, bool) {
	var found events.RateSet
	ok := false
	for _, r := range f.rates {
		if s := r.Set; s.Kind == kind && s.Key == key && !at.Before(s.From) && (!ok || !s.From.Before(found.From)) {
			found, ok = s, true
		}
	}
	return found, ok
}

// used is what the recipes say the units made took of a lot: an expectation,
// not a measurement. Spoiled pieces, off-cuts and torn labels are not in it.
func (f *Fold) used(lot string, m *matlot) prep.Fixed {
	sum := prep.One * prep.Fixed(m.Stock.Boxes)
	at := f.names.id(lot)
	for _, id := range m.Runs {
		r := f.runs.row(id)
		for _, u := range r.Materials {
			if u.MatLot == at {
				sum += f.perUnit(r, u) * prep.Fixed(u.units(r.Made))
			}
		}
	}
	return sum
}

// perUnit is what one unit of a run takes of a material, by the run's rulebook
// and the item as it is known now.
func (f *Fold) perUnit(r *run, u use) prep.Fixed {
	b, it, ok := f.bookAt(r.Rev), prep.Item{}, false
	if it, ok = f.items[f.names.text(r.Item)]; b == nil || !ok {
		return 0
	}
	material := f.names.text(u.Material)
	var instead map[string]string
	if u.For != 0 {
		instead = map[string]string{f.names.text(u.For): material}
	}
	for _, need := range b.Rulebook.RecipeWith(it, instead).Materials {
		if need.Material == material {
			return need.Amount
		}
	}
	return 0
}

// onHand is what ought to be here of a lot: received, less used, and put right
// by each count.
func (f *Fold) onHand(lot string, m *matlot) prep.Fixed {
	return m.Stock.Received - f.used(lot, m) + m.Stock.Shift
}
