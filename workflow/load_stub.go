package workflow

import "packwright/events"

var loadRules = []rule{}

func (f *Floor) loadOpened(e *events.Event, d *events.LoadOpened) error { return nil }

func (f *Floor) cartonDispatched(e *events.Event, d *events.CartonDispatched) error { return nil }

func (f *Floor) dispatchCancelled(e *events.Event, d *events.DispatchCancelled) error { return nil }

func (f *Floor) loadClosed(e *events.Event, d *events.LoadClosed) error { return nil }
