package audit

import (
	"fmt"
	"slices"

	"packwright/events"
	"packwright/prep"
)

// goodsLaws are about units, marks, lots and runs.
var goodsLaws = []Law{
	{"what came is what there is", "for each lot, all cells together hold what was received, after every event",
		func(_ *Laws, _ *events.Event, f *Fold) string {
			if f == nil {
				return ""
			}
			for _, id := range f.touched {
				if l := f.lots.row(id); l.Sum != l.Received {
					return fmt.Sprintf("lot %s received %d and holds %d", f.lots.Keys[id], l.Received, l.Sum)
				}
			}
			return ""
		}},
	{"a mark is used once", "no mark is given to a second unit",
		func(l *Laws, e *events.Event, _ *Fold) string {
			for _, m := range labelled(e) {
				if l.marks.life(m) != markNew {
					return fmt.Sprintf("%s was on a unit before", m)
				}
			}
			return ""
		}},
	{"a cancelled mark moves no more", "no unit moves under a mark that is cancelled or has left",
		func(l *Laws, e *events.Event, _ *Fold) string {
			for _, m := range moved(e) {
				switch l.marks.life(m) {
				case markVoid:
					return fmt.Sprintf("%s is cancelled", m)
				case markGone:
					return fmt.Sprintf("%s has left the floor", m)
				}
			}
			return ""
		}},
	{"no unit lies in two cartons", "a marked unit is placed only when it lies in no carton, and taken out only of the one it lies in",
		func(l *Laws, e *events.Event, _ *Fold) string {
			switch d := e.Data.(type) {
			case *events.UnitPlaced:
				for _, m := range d.Marks {
					if in := l.marks.lies[m]; in != "" {
						return fmt.Sprintf("%s is placed in %s and lies in %s", m, d.Carton, in)
					}
				}
			case *events.UnitTakenOut:
				for _, m := range d.Marks {
					if in := l.marks.lies[m]; in != d.Carton {
						return fmt.Sprintf("%s is taken out of %s and lies in %q", m, d.Carton, in)
					}
				}
			}
			return ""
		}},
	{"no stage is skipped", "units leave a stage only by the ways that lead from it",
		func(_ *Laws, e *events.Event, _ *Fold) string {
			from, allowed := leaving(e)
			for _, s := range from {
				if !slices.Contains(allowed, s) {
					return fmt.Sprintf("units at %s cannot go that way", s)
				}
			}
			return ""
		}},
	{"prep happens in an open run", "units are made ready, built and spoiled only in a run that is open",
		func(l *Laws, e *events.Event, _ *Fold) string {
			run := ""
			switch d := e.Data.(type) {
			case *events.UnitsPrepped:
				run = d.Run
			case *events.BundleBuilt:
				run = d.Run
			case *events.UnitSpoiled:
				run = d.Run
			default:
				return ""
			}
			if !l.runs[run] {
				return fmt.Sprintf("run %s is not open", run)
			}
			return ""
		}},
	{"a hazard waits for a licensed person", "a hold for a hazard is released only against the reference of a licence",
		func(l *Laws, e *events.Event, _ *Fold) string {
			if d, ok := e.Data.(*events.HoldReleased); ok && l.hazards[d.Hold] && d.Licence == "" {
				return fmt.Sprintf("hold %s was released without a licence", d.Hold)
			}
			return ""
		}},
	{"a lot holds one item", "every event that names a lot names its item",
		func(l *Laws, e *events.Event, _ *Fold) string {
			for _, p := range lotItems(e) {
				if has, ok := l.items[p[0]]; ok && has != p[1] {
					return fmt.Sprintf("lot %s is of %s, not of %s", p[0], has, p[1])
				}
			}
			return ""
		}},
}

// labelled lists the marks that an event puts on units.
func labelled(e *events.Event) prep.Marks {
	switch d := e.Data.(type) {
	case *events.UnitsPrepped:
		return d.Marks
	case *events.UnitMarked:
		return prep.Marks{d.Mark}
	}
	return nil
}

// moved lists the marks under which an event moves units.
func moved(e *events.Event) prep.Marks {
	switch d := e.Data.(type) {
	case *events.ToteSplit:
		return d.Marks
	case *events.UnitsHeld:
		return d.Marks
	case *events.HoldReleased:
		return d.Marks
	case *events.UnitsDiverted:
		return d.Marks
	case *events.UnitsWrittenOff:
		return d.Marks
	case *events.UnitsUnaccounted:
		return d.Marks
	case *events.UnitPlaced:
		return d.Marks
	case *events.UnitTakenOut:
		return d.Marks
	case *events.MarkVoided:
		return prep.Marks{d.Mark}
	case *events.UnitSpoiled:
		if d.Mark > 0 {
			return prep.Marks{d.Mark}
		}
	case *events.BundleBuilt:
		var out prep.Marks
		for _, c := range d.Components {
			out = append(out, c.Marks...)
		}
		return out
	}
	return nil
}

// ended lists the marks whose units an event takes off the floor.
func ended(e *events.Event) prep.Marks {
	switch d := e.Data.(type) {
	case *events.UnitsDiverted, *events.UnitsWrittenOff, *events.UnitsUnaccounted, *events.BundleBuilt:
		return moved(e)
	case *events.UnitSpoiled:
		if d.Verdict != events.ToHold {
			return moved(e)
		}
	}
	return nil
}

var (
	onTheRoad = []events.Stage{events.Received, events.Triaged, events.Prepped}
	anyExit   = []events.Stage{events.Received, events.Triaged, events.Prepped, events.Held, events.Unmarked}
	readyOnes = []events.Stage{events.Triaged, events.Prepped}
	offTheBox = []events.Stage{events.Prepped, events.Held, events.Triaged}
)

// leaving gives the stages that an event names as left or entered, and those
// that it may name.
func leaving(e *events.Event) (named, allowed []events.Stage) {
	switch d := e.Data.(type) {
	case *events.ToteSplit:
		return []events.Stage{d.Stage}, anyExit
	case *events.UnitsHeld:
		return []events.Stage{d.Stage}, append(slices.Clone(onTheRoad), events.Unmarked)
	case *events.HoldReleased:
		return []events.Stage{d.Stage}, append(slices.Clone(onTheRoad), events.Unmarked)
	case *events.UnitsDiverted:
		return []events.Stage{d.Stage}, anyExit
	case *events.UnitsWrittenOff:
		return []events.Stage{d.Stage}, anyExit
	case *events.UnitsUnaccounted:
		return []events.Stage{d.Stage}, anyExit
	case *events.UnitSpoiled:
		return []events.Stage{d.Stage}, append(slices.Clone(readyOnes), events.Unmarked)
	case *events.MarkVoided:
		return []events.Stage{d.Stage}, offTheBox
	case *events.LotCorrected:
		return []events.Stage{d.Stage}, anyExit
	case *events.BundleBuilt:
		for _, c := range d.Components {
			named = append(named, c.Stage)
		}
		return named, readyOnes
	}
	return nil, nil
}

// lotItems lists the lots that an event names, each with its item.
func lotItems(e *events.Event) [][2]string {
	switch d := e.Data.(type) {
	case *events.LotAnnounced:
		return [][2]string{{d.Lot, d.Item}}
	case *events.LotReceived:
		return [][2]string{{d.Lot, d.Item}}
	case *events.UnitsTriaged:
		return [][2]string{{d.Lot, d.Item}}
	case *events.UnitsPrepped:
		return [][2]string{{d.Lot, d.Item}}
	case *events.UnitPlaced:
		return [][2]string{{d.Lot, d.Item}}
	case *events.UnitTakenOut:
		return [][2]string{{d.Lot, d.Item}}
	case *events.UnitMarked:
		return [][2]string{{d.Lot, d.Item}}
	case *events.BundleBuilt:
		out := [][2]string{{d.Lot, d.Item}}
		for _, c := range d.Components {
			out = append(out, [2]string{c.Lot, c.Item})
		}
		return out
	}
	return nil
}
