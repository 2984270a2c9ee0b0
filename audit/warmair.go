package audit

import (
	"slices"

	"packwright/events"
	"packwright/prep"
)

// warmAirKey names the set of all runs in which a step by warm air was said to be
// done. No event names the tool, so that one with a fault of its own cannot be told
// from the others of the floor.
const warmAirKey = string(prep.WarmAir)

// warmed keeps that a run did a step which the rules of its revision have done by
// warm air.
func (f *Fold) warmed(id runID, r *run, d *events.StepChecked) {
	b := f.bookAt(r.Rev)
	if r.Warm || !d.OK || b == nil {
		return
	}
	if slices.ContainsFunc(b.Rulebook.Steps, func(w prep.StepWord) bool { return w.ID == d.Step && w.Means == prep.WarmAir }) {
		f.setOfKey(setKey{kind: ofWarmAir})
		f.resort(id, func() { r.Warm = true })
	}
}
