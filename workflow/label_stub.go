package workflow

import "packwright/events"

var labelRules = []rule{}

func (f *Floor) labelsPrinted(e *events.Event, d *events.LabelsPrinted) error { return nil }

func (f *Floor) labelsLive(e *events.Event, d *events.LabelsLive) error { return nil }

func (f *Floor) labelsSpoiled(e *events.Event, d *events.LabelsSpoiled) error { return nil }

func (f *Floor) markVoided(e *events.Event, d *events.MarkVoided) error { return nil }

func (f *Floor) unitMarked(e *events.Event, d *events.UnitMarked) error { return nil }
