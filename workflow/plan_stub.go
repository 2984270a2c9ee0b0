package workflow

import "packwright/events"

var planRules = []rule{}

func (f *Floor) planReleased(e *events.Event, d *events.PlanReleased) error { return nil }

func (f *Floor) planChangeProposed(e *events.Event, d *events.PlanChangeProposed) error { return nil }

func (f *Floor) planChangeApproved(e *events.Event, d *events.PlanChangeApproved) error { return nil }

func (f *Floor) planAmended(e *events.Event, d *events.PlanAmended) error { return nil }

func (f *Floor) planChangeDeclined(e *events.Event, d *events.PlanChangeDeclined) error { return nil }

func (f *Floor) planClosed(e *events.Event, d *events.PlanClosed) error { return nil }
