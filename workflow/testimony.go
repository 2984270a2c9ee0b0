package workflow

import (
	"fmt"
	"slices"

	"packwright/events"
	"packwright/prep"
)

// # Testimony
//
// What hands did without a scan is stated afterwards, by the ordinary command
// of that act with basis testimony and the earlier moment as at; recorded is
// when it was said. All gates of the command speak as they stand now, not as
// they stood then: a statement opens nothing that is shut. Who states it is the
// badge that did it, for an open mismatch, or a supervisor. A statement about a
// carton whose count is accepted ends that count, as the same act would now.

// bases a person or a device may give; derived is the decider's own.
var bases = []events.Basis{"", events.Scan, events.Keyed, events.ByScale, events.Testimony, events.Import}

// stated refuses a command whose basis cannot be.
func stated(c *Command, now events.Time) error {
	if !slices.Contains(bases, c.Basis) {
		return prep.Input(fmt.Sprintf("%q is no basis of a command", c.Basis), "choose from scan, keyed, scale, testimony, import")
	}
	if c.Basis == events.Testimony && (c.At.IsZero() || !c.At.Before(now)) {
		return prep.Input("a fact told later needs the time when it happened", "give at, earlier than now")
	}
	return nil
}

// mayTestify refuses a statement about the past without its reason.
func (d *decision) mayTestify() *Refusal {
	if d.c.Basis != events.Testimony || d.may(events.Supervisor, events.Owner) {
		return nil
	}
	if m := d.f.Matters[d.c.Matter]; m == nil || !m.Resolved.IsZero() {
		return refuse("E-AUT-04")
	}
	return nil
}
