package workflow

import "packwright/events"

var runRules = []rule{}

func (f *Floor) runOpened(e *events.Event, d *events.RunOpened) error { return nil }

func (f *Floor) runPaused(e *events.Event, d *events.RunPaused) error { return nil }

func (f *Floor) runResumed(e *events.Event, d *events.RunResumed) error { return nil }

func (f *Floor) runHandedOver(e *events.Event, d *events.RunHandedOver) error { return nil }

func (f *Floor) runClosed(e *events.Event, d *events.RunClosed) error { return nil }

func (f *Floor) materialDrawn(e *events.Event, d *events.MaterialDrawn) error { return nil }

func (f *Floor) materialSwapped(e *events.Event, d *events.MaterialSwapped) error { return nil }

func (f *Floor) stepChecked(e *events.Event, d *events.StepChecked) error { return nil }

func (f *Floor) unitsPrepped(e *events.Event, d *events.UnitsPrepped) error { return nil }

func (f *Floor) unitSpoiled(e *events.Event, d *events.UnitSpoiled) error { return nil }

func (f *Floor) bundleBuilt(e *events.Event, d *events.BundleBuilt) error { return nil }
