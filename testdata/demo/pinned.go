package demo

import "packwright/events"

// Pinned are how many events of a type follow from the day itself; the numbers
// of the others are whatever the gates ask for.
var Pinned = map[events.Type]int{
	"lot.announced": 13, "lot.received": 13, "lot.shortfall-noted": 1, "units.triaged": 15, "rulebook.published": 2,
	"plan.released": 1, "plan.amended": 1, "plan.closed": 1, "run.opened": 12, "run.closed": 12, "material.swapped": 1,
	"bundle.built": 1, "unit.spoiled": 1, "carton.opened": 14, "unit.placed": 224, "unit.taken-out": 3, "mark.voided": 2,
	"unit.marked": 2, "carton.weighed": 18, "count.entered": 19, "count.accepted": 15, "carton.sealed": 15, "carton.reopened": 1,
	"carton.dispatched": 14, "mismatch.raised": 2, "mismatch.resolved": 2, "scan.refused": 1, "station.quiet": 1,
	"station.caught-up": 1, "claim.opened": 2, "claim.traced": 2, "claim.decided": 2, "claim.closed": 2,
}
