package audit

import (
	"fmt"
	"maps"
	"slices"

	"packwright/events"
)

// supplyLaws are about lots of material.
var supplyLaws = []Law{
	{"a blocked lot is used no more", "once a lot of material is blocked nobody takes it in hand, and no unit is finished while it is in use",
		func(l *Laws, e *events.Event, _ *Fold) string {
			lot := ""
			switch d := e.Data.(type) {
			case *events.MaterialDrawn:
				lot = d.MatLot
			case *events.MaterialSwapped:
				lot = d.To
			case *events.SupplySubstituted:
				lot = d.MatLot
			case *events.SupplyIssued:
				lot = d.MatLot
			case *events.CartonOpened:
				lot = d.MatLot
			case *events.UnitsPrepped:
				use := l.supply.inUse[d.Run]
				for _, material := range slices.Sorted(maps.Keys(use)) {
					if l.supply.blocked[use[material]] {
						return fmt.Sprintf("%s %s is blocked, and %s uses it", material, use[material], d.Run)
					}
				}
			}
			if l.supply.blocked[lot] {
				return fmt.Sprintf("%s is blocked", lot)
			}
			return ""
		}},
}

// supplyMemory is what the laws about material remember.
type supplyMemory struct {
	blocked map[string]bool
	inUse   map[string]map[string]string // run → material → lot
}

func newSupplyMemory() supplyMemory {
	return supplyMemory{map[string]bool{}, map[string]map[string]string{}}
}

func (s *supplyMemory) remember(e *events.Event) {
	switch d := e.Data.(type) {
	case *events.MatLotBlocked:
		s.blocked[d.MatLot] = true
	case *events.MaterialDrawn:
		s.use(d.Run, d.Material, d.MatLot)
	case *events.MaterialSwapped:
		s.use(d.Run, d.Material, d.To)
	case *events.SupplySubstituted:
		delete(s.inUse[d.Run], d.Material)
		delete(s.inUse[d.Run], d.Was)
		s.use(d.Run, d.By, d.MatLot)
	case *events.RunClosed:
		delete(s.inUse, d.Run)
	}
}

func (s *supplyMemory) use(run, material, lot string) {
	if s.inUse[run] == nil {
		s.inUse[run] = map[string]string{}
	}
	s.inUse[run][material] = lot
}
