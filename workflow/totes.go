package workflow

import (
	"fmt"

	"packwright/events"
)

// unplaced is the error of an event about something the floor does not know.
func unplaced(what, code string) error {
	return fmt.Errorf("%w: it speaks of %s %q, which is not here", events.ErrCorrupt, what, code)
}

// tote gives a tote's record, made at first sight. Benches, aside totes and
// cartons are places without one.
func (f *Floor) tote(code string) *Tote {
	if code == "" || f.Stations[code] != nil || f.Cartons[code] != nil {
		return nil
	}
	t := f.Totes[code]
	if t == nil {
		t = &Tote{Tote: code}
		f.Totes[code] = t
	}
	return t
}

func (f *Floor) toteSplit(e *events.Event, d *events.ToteSplit) error { return nil }

func (f *Floor) toteCleared(e *events.Event, d *events.ToteCleared) error { return nil }

func (f *Floor) toteMoved(e *events.Event, d *events.ToteMoved) error { return nil }
