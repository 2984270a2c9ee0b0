package workflow

import "packwright/events"

var cartonRules = []rule{}

func (f *Floor) cartonOpened(e *events.Event, d *events.CartonOpened) error { return nil }

func (f *Floor) unitPlaced(e *events.Event, d *events.UnitPlaced) error { return nil }

func (f *Floor) unitTakenOut(e *events.Event, d *events.UnitTakenOut) error { return nil }

func (f *Floor) cartonVoided(e *events.Event, d *events.CartonVoided) error { return nil }

func (f *Floor) cartonHandedOver(e *events.Event, d *events.CartonHandedOver) error { return nil }
