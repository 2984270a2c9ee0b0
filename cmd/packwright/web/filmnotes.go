package web

import (
	"fmt"

	"packwright/events"
)

// note keeps what of an event lasts or changed what counts, for the drawing of
// the day.
func (f *film) note(e *events.Event) {
	switch d := e.Data.(type) {
	case *events.RunOpened:
		f.runs = append(f.runs, span{Name: d.Run, Bench: e.Station, Badge: e.Badge, From: e.At})
	case *events.UnitsPrepped:
		if s := last(f.runs, d.Run); s != nil {
			s.N, s.To = s.N+d.Q, e.At
		}
	case *events.CartonOpened:
		f.packs = append(f.packs, span{Name: d.Carton, Bench: e.Station, Badge: e.Badge, From: e.At})
	case *events.UnitPlaced:
		if s := last(f.packs, d.Carton); s != nil && s.To.IsZero() {
			s.N += d.Q
		}
	case *events.CartonFinished:
		if s := last(f.packs, d.Carton); s != nil && s.To.IsZero() {
			s.To = e.At
		}
	case *events.MismatchRaised:
		f.asks = append(f.asks, span{Name: d.Mismatch, Badge: string(d.Kind), Bench: d.Scope.Carton, From: e.Recorded})
	case *events.MismatchResolved:
		if s := last(f.asks, d.Mismatch); s != nil {
			s.To = e.Recorded
		}
	case *events.MismatchReopened:
		if s := last(f.asks, d.Mismatch); s != nil {
			s.To = events.Time{}
		}
	case *events.PlanAmended:
		f.marks = append(f.marks, happened{e.Recorded, fmt.Sprintf("plan r%d", d.Rev)})
	case *events.RulebookPublished:
		f.marks = append(f.marks, happened{e.Recorded, fmt.Sprintf("rules r%d", d.Rev)})
	case *events.LoadClosed:
		f.marks = append(f.marks, happened{e.Recorded, "truck left"})
	}
}

// last gives the newest span of a name.
func last(list []span, name string) *span {
	for i := len(list) - 1; i >= 0; i-- {
		if list[i].Name == name {
			return &list[i]
		}
	}
	return nil
}
