package workflow

import "packwright/events"

var claimRules = []rule{}

func (f *Floor) claimOpened(e *events.Event, d *events.ClaimOpened) error { return nil }

func (f *Floor) claimTraced(e *events.Event, d *events.ClaimTraced) error { return nil }

func (f *Floor) claimDecided(e *events.Event, d *events.ClaimDecided) error { return nil }

func (f *Floor) claimClosed(e *events.Event, d *events.ClaimClosed) error { return nil }
