package events

import "slices"

// Resolution is a lawful way out of a mismatch.
type Resolution struct {
	Kind  Kind   `json:"kind"`
	Name  string `json:"resolution"`
	Does  string `json:"does"` // in a few words
	Who   []Role `json:"who"`  // who may close it so
	Both  bool   `json:"both,omitempty"`
	Check Check  `json:"after_check,omitempty"`
}

// Check is what must be in the log between the fix and the resolution.
type Check string

// The after-checks.
const (
	NoCheck     Check = ""
	Recount     Check = "recount"      // an accepted count of each carton by another person
	AmendedPlan Check = "amended-plan" // the plan was amended since the matter was raised
	Leave       Check = "override"     // leave was given since
)

var (
	byAnyHand  = []Role{Packer, Lead, Supervisor, Owner}
	bySuper    = []Role{Supervisor, Owner}
	byOwner    = []Role{Owner}
	bySuperOne = []Role{Supervisor}
)

// Resolutions lists every lawful way out, kind by kind. Both means that a
// supervisor and the owner must agree. A matter that shows several kinds may be
// closed by a way out of any of them.
var Resolutions = []Resolution{
	{Short, "recount", "another person counts again", byAnyHand, false, Recount},
	{Short, "find-and-add", "find the piece, place it, count again", byAnyHand, false, Recount},
	{Short, "amend-plan", "change the plan, with its owner's yes", bySuper, false, AmendedPlan},
	{Short, "write-off-and-amend", "write the piece off and change the plan", bySuperOne, true, AmendedPlan},
	{Short, "send-short", "send it short, as a planned shortage", byOwner, false, AmendedPlan},
	{Over, "take-out", "take the piece out to its tote", byAnyHand, false, Recount},
	{Over, "move", "move the piece to another carton", byAnyHand, false, Recount},
	{Over, "amend-plan", "change the plan, with its owner's yes", bySuper, false, AmendedPlan},
	{Unplanned, "remove", "take the piece out", byAnyHand, false, Recount},
	{Unplanned, "move", "move the piece to another carton", byAnyHand, false, Recount},
	{Unplanned, "amend-plan", "change the plan, with its owner's yes", bySuper, false, AmendedPlan},
	{WrongCarton, "move", "move the piece to the carton it is for", byAnyHand, false, Recount},
	{Twice, "ignore", "one piece, scanned twice", bySuper, false, NoCheck},
	{Twice, "void-duplicate", "cancel the second label", bySuper, false, NoCheck},
	{Unknown, "identify", "say which lot it is of", bySuper, false, NoCheck},
	{Unknown, "register", "put the item into the catalogue", bySuper, false, NoCheck},
	{Unknown, "divert", "send it to another channel", bySuper, false, NoCheck},
	{Unprepped, "send-to-run", "send it to a run", byAnyHand, false, NoCheck},
	{Unprepped, "accept", "accept it under an override", bySuper, false, Leave},
	{Weight, "reweigh", "check the scale, weigh again", byAnyHand, false, Recount},
	{Weight, "weigh-singly", "weigh the pieces one by one", byAnyHand, false, Recount},
	{Weight, "find-swap", "open it and put the right piece in", bySuper, false, Recount},
	{Weight, "correct-item-weight", "correct the item's weight in the catalogue", bySuper, false, Recount},
	{PlanChanged, "recount-lines", "count the changed lines again", byAnyHand, false, Recount},
	{PlanChanged, "unchanged", "its lines did not change", byAnyHand, false, NoCheck},
	{EarlySeal, "open-and-count", "open it and count", bySuper, false, Recount},
	{EarlySeal, "weigh-and-certify", "certify it by weight, under an override", bySuperOne, true, Leave},
	{Late, "confirm-in-count", "it was in the count", bySuper, false, Leave},
	{Late, "open-and-recount", "open it and count again", bySuper, false, Recount},
	{Late, "settle", "settle it with ordinary commands", bySuper, false, NoCheck},
	{LabelBal, "find-label", "find the label", byAnyHand, false, NoCheck},
	{LabelBal, "void-marks", "cancel the marks and check the run's other pieces", bySuper, false, NoCheck},
	{LotBal, "find", "find the pieces", byAnyHand, false, NoCheck},
	{LotBal, "correct-receipt", "correct how many came", bySuper, false, NoCheck},
	{LotBal, "unaccounted", "write that nobody knows where they are", bySuperOne, true, NoCheck},
	{MixedLot, "split", "split the tote", byAnyHand, false, NoCheck},
	{MixedLot, "allow", "allow it under an override", bySuper, false, Leave},
	{NoShow, "note-shortfall", "note the shortfall to the supplier", bySuper, false, NoCheck},
	{NoShow, "amend-plan", "change the plan, with its owner's yes", bySuper, false, AmendedPlan},
	{SealBroken, "open-and-recount", "open it, count again, new seal", bySuper, false, Recount},
	{OverWeight, "split-carton", "take pieces out to another carton", bySuper, false, Recount},
	{OverWeight, "amend-plan", "change the plan, with its owner's yes", bySuper, false, AmendedPlan},
	{OverSize, "split-carton", "take pieces out to another carton", bySuper, false, Recount},
	{OverSize, "amend-plan", "change the plan, with its owner's yes", bySuper, false, AmendedPlan},
	{HazStop, "keep-held", "keep it on hold for a licensed person", bySuper, false, NoCheck},
	{Quiet, "hand-over", "hand its work to another bench", bySuper, false, NoCheck},
	{Quiet, "came-back", "the bench came back", byAnyHand, false, NoCheck},
	{Clock, "clock-set", "the bench's clock was set", bySuper, false, NoCheck},
}

// WaysOut lists the lawful resolutions of the kinds given, in the table's order, each name once.
func WaysOut(kinds ...Kind) (out []Resolution) {
	for _, r := range Resolutions {
		if slices.Contains(kinds, r.Kind) && !slices.ContainsFunc(out, func(o Resolution) bool { return o.Name == r.Name }) {
			out = append(out, r)
		}
	}
	return out
}
