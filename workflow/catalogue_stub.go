package workflow

import "packwright/events"

var catalogueRules = []rule{}

func (f *Floor) itemRegistered(e *events.Event, d *events.ItemRegistered) error { return nil }

func (f *Floor) itemRevised(e *events.Event, d *events.ItemRevised) error { return nil }

func (f *Floor) rulebookPublished(e *events.Event, d *events.RulebookPublished) error { return nil }

func (f *Floor) rulebookBlocked(e *events.Event, d *events.RulebookBlocked) error { return nil }

func (f *Floor) badgeEnrolled(e *events.Event, d *events.BadgeEnrolled) error { return nil }

func (f *Floor) badgeRetired(e *events.Event, d *events.BadgeRetired) error { return nil }

func (f *Floor) recipeCleared(e *events.Event, d *events.RecipeCleared) error { return nil }
