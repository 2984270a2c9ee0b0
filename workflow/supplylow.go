package workflow

import (
	"maps"
	"slices"

	"packwright/events"
	"packwright/prep"
)

// Reorder is when more of a material is ordered: at a number, or as worked out
// from how it is used.
type Reorder struct {
	At     prep.Fixed // 0: by the demand
	PerDay prep.Fixed
	SD     prep.Fixed
	Days   prep.Fixed
	Z      prep.Fixed // 0 with a demand: 1.645
}

// usualZ: in one order of twenty the store runs out before the next comes.
const usualZ prep.Fixed = 1_645_000

func (r Reorder) demand() prep.Demand {
	d := prep.Demand{PerDay: r.PerDay, SD: r.SD, Days: r.Days, Z: r.Z}
	if d.Z == 0 {
		d.Z = usualZ
	}
	return d
}

// point gives the reorder point; 0: none.
func (r Reorder) point() prep.Fixed {
	if r.At != 0 {
		return r.At
	}
	p, err := r.demand().ReorderPoint()
	if err != nil {
		return 0
	}
	return p
}

// sayLow adds, once for each material, that what was just decided takes it to
// its reorder point. Of materials that were never received nothing is known.
func (d *decision) sayLow() {
	if len(d.f.policy.Reorder) == 0 {
		return
	}
	change := map[string]prep.Fixed{}
	for i := range d.out {
		d.f.stockChange(d.out[i].Data, change)
	}
	for _, material := range slices.Sorted(maps.Keys(change)) {
		at := d.f.policy.Reorder[material]
		point, now := at.point(), d.f.available(material)+change[material]
		if _, said := d.f.Low[material]; said || point <= 0 || now > point || change[material] >= 0 || !d.f.keeps(material) {
			continue
		}
		e := &events.SupplyLow{Material: material, OnHand: max(now, 0), Reorder: point}
		if days, ok := at.demand().Lasts(e.OnHand); ok {
			e.Days = &days
		}
		d.follow(e)
	}
}

// stockChange adds what a fact changes of what is available, by material.
func (f *Floor) stockChange(data events.Data, change map[string]prep.Fixed) {
	free := func(lot string) *MatLot {
		if m := f.MatLots[lot]; m != nil && m.Known && m.Blocked == "" {
			return m
		}
		return nil
	}
	for _, c := range f.consumes(data) {
		if m := free(c.lot); m != nil {
			change[m.Material] -= c.q
		}
	}
	switch d := data.(type) {
	case *events.SupplyCounted:
		if m := free(d.MatLot); m != nil {
			change[m.Material] += d.Q - max(m.OnHand(), 0)
		}
	case *events.MatLotBlocked:
		if m := free(d.MatLot); m != nil {
			change[m.Material] -= max(m.OnHand(), 0)
		}
	}
}
