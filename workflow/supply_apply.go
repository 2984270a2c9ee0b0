package workflow

import (
	"slices"
	"strings"

	"packwright/events"
	"packwright/prep"
)

// MatLot is a lot of material. One that was never received is kept for the
// runs that used it, as long as goods of theirs are here.
type MatLot struct {
	MatLot   string         `json:"matlot"`
	Material string         `json:"material"`
	Known    bool           `json:"known,omitempty"` // it was received here
	Store    prep.Fixed     `json:"store,omitempty"`
	Out      prep.Fixed     `json:"out,omitempty"` // at the benches
	Blocked  string         `json:"blocked,omitempty"`
	Runs     map[string]int `json:"runs,omitempty"` // run → units made with it
}

// OnHand is what ought to be here; below 0 more was used than the books had.
func (m *MatLot) OnHand() prep.Fixed { return m.Store + m.Out }

// Rate is what something costs from a moment on: the last one set.
type Rate struct {
	Minor prep.Money  `json:"minor"`
	Per   string      `json:"per"`
	From  events.Time `json:"from"`
}

// consumed is what one event takes of a lot of material by the recipe; below
// nothing: it is given back.
type consumed struct {
	lot, material string
	q             prep.Fixed
	run           string
	units         int
}

// consumes says what a fact takes of which lots, as the floor stands before it.
func (f *Floor) consumes(data events.Data) (out []consumed) {
	switch d := data.(type) {
	case *events.CartonOpened:
		if d.MatLot != "" {
			out = append(out, consumed{lot: d.MatLot, material: d.Box, q: prep.One})
		}
	case *events.UnitsPrepped:
		r := f.Runs[d.Run]
		if r == nil || f.recipeOf(r) == nil {
			return nil
		}
		for _, need := range f.recipeOf(r).Materials {
			if lot := r.Materials[need.Material]; lot != "" {
				out = append(out, consumed{lot, need.Material, need.Amount * prep.Fixed(d.Q), d.Run, d.Q})
			}
		}
	case *events.MaterialSwapped: // the last of the finished units had the new one
		r := f.Runs[d.Run]
		if r == nil || f.recipeOf(r) == nil || r.done() <= d.AtUnit {
			return nil
		}
		n := r.done() - max(d.AtUnit, r.Since[d.Material]) // what an earlier roll had stays that roll's
		for _, need := range f.recipeOf(r).Materials {
			if q := need.Amount * prep.Fixed(n); need.Material == d.Material {
				out = append(out, consumed{d.From, d.Material, -q, d.Run, -n}, consumed{d.To, d.Material, q, d.Run, n})
			}
		}
	}
	return out
}

// consume books what an event took. Of what is at the benches first.
func (f *Floor) consume(list []consumed) {
	for _, c := range list {
		m := f.matlot(c.lot, c.material)
		if c.run != "" {
			m.Runs[c.run] += c.units
		}
		if !m.Known {
			continue
		}
		if m.Out -= c.q; m.Out < 0 {
			m.Store, m.Out = m.Store+m.Out, 0
		}
	}
}

// matlot gives a lot's record, made when it is not there yet.
func (f *Floor) matlot(lot, material string) *MatLot {
	m := f.MatLots[lot]
	if m == nil {
		m = &MatLot{MatLot: lot, Material: material}
		f.MatLots[lot] = m
	}
	if m.Runs == nil {
		m.Runs = map[string]int{}
	}
	return m
}

// nameLot gives a lot's record after somebody said what it is: the first word
// of the supply room stands, before it the last word of a bench.
func (f *Floor) nameLot(lot, material string) *MatLot {
	m := f.matlot(lot, material)
	if !m.Known && m.Blocked == "" {
		m.Material = material
	}
	return m
}

// has says whether a lot of material is in use in a run.
func (r *Run) has(lot string) bool {
	for _, in := range r.Materials {
		if in == lot {
			return true
		}
	}
	return false
}

// blockedIn gives a blocked lot that a run has in use, or "".
func (f *Floor) blockedIn(r *Run) string {
	found := ""
	for _, lot := range r.Materials {
		if f.notBlocked(lot) != nil && (found == "" || lot < found) {
			found = lot
		}
	}
	return found
}

// unblocked refuses to go on with a blocked lot.
func (f *Floor) unblocked(r *Run) *Refusal {
	if lot := f.blockedIn(r); lot != "" {
		return refuse("E-PRE-05", lot)
	}
	return nil
}

// touchedBy lists the runs that used a lot, of which something is still here.
func (f *Floor) touchedBy(lot string) (out []events.Touched) {
	m := f.MatLots[lot]
	if m == nil {
		return nil
	}
	for code, n := range m.Runs {
		if r := f.Runs[code]; r != nil {
			out = append(out, events.Touched{Run: code, Lot: r.source().Lot, Item: r.Item, Units: n, Open: r.State != RunClosed})
		}
	}
	slices.SortFunc(out, func(a, b events.Touched) int { return strings.Compare(a.Run, b.Run) })
	return out
}

func (f *Floor) supplyReceived(e *events.Event, d *events.SupplyReceived) error {
	m := f.nameLot(d.MatLot, d.Material)
	m.Known = true
	m.Store += d.Q
	delete(f.Low, d.Material)
	return nil
}

func (f *Floor) supplyIssued(e *events.Event, d *events.SupplyIssued) error {
	m := f.MatLots[d.MatLot]
	if m == nil {
		return unplaced("lot of material", d.MatLot)
	}
	m.Store -= d.Q
	m.Out += d.Q
	return nil
}

func (f *Floor) supplyCounted(e *events.Event, d *events.SupplyCounted) error {
	m := f.MatLots[d.MatLot]
	if m == nil {
		return unplaced("lot of material", d.MatLot)
	}
	m.Out = min(m.Out, d.Q)
	m.Store = d.Q - m.Out
	if low, said := f.Low[m.Material]; said && f.available(m.Material) > low {
		delete(f.Low, m.Material)
	}
	f.sweepSupplies()
	return nil
}

func (f *Floor) supplyLow(e *events.Event, d *events.SupplyLow) error {
	f.Low[d.Material] = d.Reorder
	return nil
}

func (f *Floor) supplySubstituted(e *events.Event, d *events.SupplySubstituted) error {
	f.nameLot(d.MatLot, d.By).Runs[d.Run] += 0
	return f.inRun(d.Run, func(r *Run) {
		if d.Was != "" {
			delete(r.Materials, d.Was)
		}
		delete(r.Materials, d.Material)
		delete(r.Instead, d.Material)
		if d.By != d.Material {
			if r.Instead == nil {
				r.Instead = map[string]string{}
			}
			r.Instead[d.Material] = d.By
		}
		r.uses(d.By, d.MatLot, d.AtUnit)
	})
}

func (f *Floor) matLotBlocked(e *events.Event, d *events.MatLotBlocked) error {
	f.nameLot(d.MatLot, d.Material).Blocked = d.Reason
	return nil
}

func (f *Floor) rateSet(e *events.Event, d *events.RateSet) error {
	f.Rates[string(d.Kind)+"/"+d.Key] = Rate{d.Minor, d.Per, d.From}
	return nil
}

// available is what is on hand of a material in lots that are not blocked.
func (f *Floor) available(material string) (sum prep.Fixed) {
	for _, m := range f.MatLots {
		if m.Material == material && m.Known && m.Blocked == "" {
			sum += max(m.OnHand(), 0)
		}
	}
	return sum
}

// keeps says whether any of a material was ever received and is still known.
func (f *Floor) keeps(material string) bool {
	for _, m := range f.MatLots {
		if m.Material == material && m.Known {
			return true
		}
	}
	return false
}

// sweepSupplies forgets lots that are used up or were never received, when
// nothing made with them is here. A block is never forgotten.
func (f *Floor) sweepSupplies() {
	for code, m := range f.MatLots {
		for run := range m.Runs {
			if f.Runs[run] == nil {
				delete(m.Runs, run)
			}
		}
		if m.Blocked == "" && m.OnHand() <= 0 && len(m.Runs) == 0 {
			delete(f.MatLots, code)
		}
	}
}
