package workflow

import "packwright/events"

var mismatchRules = []rule{}

func (f *Floor) mismatchRaised(e *events.Event, d *events.MismatchRaised) error { return nil }

func (f *Floor) mismatchSymptomAdded(e *events.Event, d *events.MismatchSymptomAdded) error {
	return nil
}

func (f *Floor) mismatchTaken(e *events.Event, d *events.MismatchTaken) error { return nil }

func (f *Floor) mismatchNoted(e *events.Event, d *events.MismatchNoted) error { return nil }

func (f *Floor) mismatchFixed(e *events.Event, d *events.MismatchFixed) error { return nil }

func (f *Floor) mismatchResolved(e *events.Event, d *events.MismatchResolved) error { return nil }

func (f *Floor) mismatchReopened(e *events.Event, d *events.MismatchReopened) error { return nil }

func (f *Floor) overrideGranted(e *events.Event, d *events.OverrideGranted) error { return nil }
