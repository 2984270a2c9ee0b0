package workflow

import "packwright/events"

var triageRules = []rule{}

func (f *Floor) unitsTriaged(e *events.Event, d *events.UnitsTriaged) error { return nil }

func (f *Floor) unitsHeld(e *events.Event, d *events.UnitsHeld) error { return nil }

func (f *Floor) holdReleased(e *events.Event, d *events.HoldReleased) error { return nil }

func (f *Floor) unitsDiverted(e *events.Event, d *events.UnitsDiverted) error { return nil }

func (f *Floor) unitsReturnedToFloor(e *events.Event, d *events.UnitsReturnedToFloor) error {
	return nil
}

func (f *Floor) unitsWrittenOff(e *events.Event, d *events.UnitsWrittenOff) error { return nil }

func (f *Floor) unitsUnaccounted(e *events.Event, d *events.UnitsUnaccounted) error { return nil }
