package audit

import (
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"

	"packwright/events"
	"packwright/prep"
)

// Supply is one lot of material: what came in, what the recipes say was used,
// and what somebody counted. Used and OnHand are expectations.
type Supply struct {
	MatLot   string      `json:"matlot"`
	Material string      `json:"material"`
	Unit     string      `json:"unit,omitempty"`
	Received prep.Fixed  `json:"received"` // 0: it was used without having been received
	Issued   prep.Fixed  `json:"issued"`
	Used     prep.Fixed  `json:"used"`
	OnHand   prep.Fixed  `json:"on_hand"`
	Counted  *prep.Fixed `json:"counted,omitempty"` // at the last count
	// Missing is what was expected at the last count less what was counted:
	// off-cuts, spoiled pieces, a recipe that asks for too little, or loss. Which of
	// them, the log cannot say. Below 0: more was there.
	Missing *prep.Fixed `json:"missing,omitempty"`
	Cost    prep.Money  `json:"cost_minor"` // of all received
	Blocked string      `json:"blocked,omitempty"`
	Runs    []string    `json:"runs,omitempty"` // that used it
}

// SupplyRoom is all lots of material, by name, and the materials that fell to
// their reorder point, the last time of each.
type SupplyRoom struct {
	Supplies []Supply           `json:"supplies"`
	Low      []events.SupplyLow `json:"low,omitempty"`
	Rates    []events.RateSet   `json:"rates,omitempty"`
}

// Supplies gives the state of the supply room.
func (f *Fold) Supplies() SupplyRoom {
	out := SupplyRoom{Supplies: []Supply{}}
	for _, lot := range slices.Sorted(maps.Keys(f.matlots)) {
		out.Supplies = append(out.Supplies, f.supply(lot, f.matlots[lot]))
	}
	last := map[name]low{}
	for _, l := range f.lows {
		last[l.Material] = l
	}
	for _, l := range last {
		out.Low = append(out.Low, events.SupplyLow{Material: f.names.text(l.Material), OnHand: l.OnHand, Reorder: l.Reorder})
	}
	slices.SortFunc(out.Low, func(a, b events.SupplyLow) int { return strings.Compare(a.Material, b.Material) })
	for _, r := range f.rates {
		out.Rates = append(out.Rates, r.Set)
	}
	return out
}

func (f *Fold) supply(lot string, m *matlot) Supply {
	s := Supply{MatLot: lot, Material: f.names.text(m.Material), Unit: m.Stock.Unit, Received: m.Stock.Received, Issued: m.Stock.Issued,
		Used: f.used(lot, m), Cost: m.Stock.Cost, Blocked: m.Stock.Reason}
	if s.Received > 0 {
		s.OnHand = f.onHand(lot, m)
	}
	if c := m.Stock.Counted; c != nil {
		off := c.Expected - c.Q
		s.Counted, s.Missing = &c.Q, &off
	}
	for _, id := range m.Runs {
		s.Runs = append(s.Runs, f.runs.Keys[id])
	}
	slices.Sort(s.Runs)
	return s
}

// Text writes the supply room for people.
func (r SupplyRoom) Text(w io.Writer) error {
	b := &strings.Builder{}
	for _, s := range r.Supplies {
		fmt.Fprintf(b, "%s %s: ", s.MatLot, s.Material)
		if s.Received == 0 {
			fmt.Fprintf(b, "never received; %s used by the recipes", s.Used)
		} else {
			fmt.Fprintf(b, "%s %s on hand of %s received, %s issued, %s used by the recipes", s.OnHand, s.Unit, s.Received, s.Issued, s.Used)
		}
		if s.Missing != nil {
			fmt.Fprintf(b, "; last count %s, %s fewer than expected", *s.Counted, *s.Missing)
		}
		if s.Blocked != "" {
			fmt.Fprintf(b, "; BLOCKED: %s", s.Blocked)
		}
		if len(s.Runs) > 0 {
			fmt.Fprintf(b, "; in %s", strings.Join(s.Runs, ", "))
		}
		b.WriteString("\n")
	}
	for _, l := range r.Low {
		fmt.Fprintf(b, "order %s: %s on hand, reorder point %s\n", l.Material, l.OnHand, l.Reorder)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// tellSupply says the events of the supply room.
func tellSupply(e *events.Event) (string, bool) {
	switch d := e.Data.(type) {
	case *events.SupplyReceived:
		return fmt.Sprintf("received %s %s of %s, lot %s", d.Q, d.Unit, d.Material, d.MatLot), true
	case *events.SupplyIssued:
		return fmt.Sprintf("handed %s of %s %s to %s", d.Q, d.Material, d.MatLot, d.Station), true
	case *events.SupplyCounted:
		return fmt.Sprintf("counted %s of %s %s", d.Q, d.Material, d.MatLot), true
	case *events.SupplyLow:
		return fmt.Sprintf("%s is low: %s on hand, reorder point %s", d.Material, d.OnHand, d.Reorder), true
	case *events.SupplySubstituted:
		return fmt.Sprintf("%s %s in the place of %s from unit %d of %s (%s)", d.By, d.MatLot, d.Material, d.AtUnit+1, d.Run, d.Allowed), true
	case *events.MatLotBlocked:
		return fmt.Sprintf("blocked %s %s, used in %d runs: %s", d.Material, d.MatLot, len(d.Runs), d.Reason), true
	case *events.RateSet:
		return fmt.Sprintf("%s %s costs %s a %s", d.Kind, d.Key, d.Minor, d.Per), true
	}
	return "", false
}
