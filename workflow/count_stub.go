package workflow

import "packwright/events"

var countRules = []rule{}

func (f *Floor) cartonFinished(e *events.Event, d *events.CartonFinished) error { return nil }

func (f *Floor) cartonWeighed(e *events.Event, d *events.CartonWeighed) error { return nil }

func (f *Floor) countEntered(e *events.Event, d *events.CountEntered) error { return nil }

func (f *Floor) countAccepted(e *events.Event, d *events.CountAccepted) error { return nil }

func (f *Floor) countVoided(e *events.Event, d *events.CountVoided) error { return nil }

func (f *Floor) cartonSealed(e *events.Event, d *events.CartonSealed) error { return nil }

func (f *Floor) cartonReopened(e *events.Event, d *events.CartonReopened) error { return nil }

func (f *Floor) scaleChecked(e *events.Event, d *events.ScaleChecked) error { return nil }
