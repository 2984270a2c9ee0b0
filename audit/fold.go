package audit

import (
	"fmt"

	"packwright/events"
	"packwright/prep"
)

type (
	lotID    int32
	runID    int32
	placeID  int32
	cartonID int32
	planID   int32
	matterID int32
	benchID  int32
	loadID   int32
)

// Fold is the floor as its events tell it, with the history that questions need.
// It is not safe for concurrent use; package follow guards it.
type Fold struct {
	table map[events.Type]step

	digest  events.Digest
	byStage [stageCount]int // units at each stage
	last    events.Seq
	now     events.Time // recorded of the last event
	placed  events.Time // recorded of the last placement
	count   int64

	founded events.FloorFounded
	names   names
	lots    shelf[lotID, lot]
	runs    shelf[runID, run]
	places  shelf[placeID, place]
	cartons shelf[cartonID, carton]
	plans   shelf[planID, plan]
	matters shelf[matterID, matter]
	benches shelf[benchID, bench]
	loads   shelf[loadID, load]
	claims  map[string]*claim
	holds   map[string]*hold
	badges  map[string]*badge
	scales  map[string]*scale
	items   map[string]prep.Item
	books   []book
	props   map[string]*proposal
	matlots map[string]*matlot
	serials map[string]bornUnit
	lows    []low
	rates   []rate
	heads   []HeadView
	days    []closedDay

	kin        []kin               // by run
	several    map[string]*several // by runs
	pouredWith map[runID][]*several
	sets       map[setKey]*shared
	shifts     map[shiftKey]*shift
	moved      []movedMark
	heaped     []heaped
	left       []departure // in the order they left
	weighed    []cartonID  // each time, in order
	boxed      []name      // by carton: the scale it was last weighed on
	onScale    map[name][]cartonID
	reopened   cartonSet // whose seal was broken here
	byPlacer   cartonSet // whose certificate in force rests on the placer's own count

	bad     map[prep.Mark]int32 // claims that name it
	askedAt map[string][]string // claims that name a carton alone
	asked   map[string]*asked
	askedOf map[runID][]string
	stale   []string // claims to be counted anew

	templates map[string]*template // by kind and revision

	marks   marks
	hashes  hashes
	printed []printed
	byMark  []int32 // numbers of printed, by their first mark
	// numbered: some printing of marks says by which template
	numbered bool
	papers   map[prep.Mark]*paper
	origins  map[prep.Mark][]origin

	odd   oddities
	paces paces
	sizes Scale

	touched []lotID // lots whose cells the last event changed
	warm    int     // rows of each noun that are kept awake although they are done with
}

// step is how one type of event changes the fold.
type step func(*Fold, *events.Event) error

// New gives the fold of an empty log.
func New() *Fold {
	f := &Fold{
		table: steps, names: newNames(), sizes: DefaultScale,
		lots: newShelf[lotID]((*lot).done), runs: newShelf[runID]((*run).done), places: newShelf[placeID]((*place).done),
		cartons: newShelf[cartonID]((*carton).done), plans: newShelf[planID]((*plan).done),
		matters: newShelf[matterID]((*matter).done), benches: newShelf[benchID, bench](nil), loads: newShelf[loadID]((*load).done),
		claims: map[string]*claim{}, holds: map[string]*hold{}, badges: map[string]*badge{},
		scales: map[string]*scale{}, items: map[string]prep.Item{}, props: map[string]*proposal{},
		matlots: map[string]*matlot{}, templates: map[string]*template{}, serials: map[string]bornUnit{},
		marks: newMarks(), several: map[string]*several{}, pouredWith: map[runID][]*several{}, sets: map[setKey]*shared{}, shifts: map[shiftKey]*shift{},
		onScale: map[name][]cartonID{}, bad: map[prep.Mark]int32{}, askedAt: map[string][]string{}, asked: map[string]*asked{}, askedOf: map[runID][]string{},
		papers: map[prep.Mark]*paper{}, origins: map[prep.Mark][]origin{},
		warm: warmRows,
	}
	f.runs.mend = func(id runID, r *run) { r.self = []runID{id} }
	return f
}

// steps says how each type of event is applied: one row a type, none left out.
var steps = map[events.Type]step{
	"floor.founded":      on((*Fold).floorFounded),
	"item.registered":    on((*Fold).itemRegistered),
	"item.revised":       on((*Fold).itemRevised),
	"rulebook.published": on((*Fold).rulebookPublished),
	"rulebook.blocked":   on((*Fold).rulebookBlocked),
	"badge.enrolled":     on((*Fold).badgeEnrolled),
	"badge.retired":      on((*Fold).badgeRetired),
	"recipe.cleared":     on((*Fold).recipeCleared),

	"lot.announced":           on((*Fold).lotAnnounced),
	"lot.received":            on((*Fold).lotReceived),
	"lot.shortfall-noted":     on((*Fold).lotShortfallNoted),
	"lot.overage-noted":       on((*Fold).lotOverageNoted),
	"lot.corrected":           on((*Fold).lotCorrected),
	"tote.split":              on((*Fold).toteSplit),
	"tote.cleared":            on((*Fold).toteCleared),
	"tote.moved":              on((*Fold).toteMoved),
	"units.triaged":           on((*Fold).unitsTriaged),
	"units.held":              on((*Fold).unitsHeld),
	"hold.released":           on((*Fold).holdReleased),
	"units.diverted":          on((*Fold).unitsDiverted),
	"units.returned-to-floor": on((*Fold).unitsReturnedToFloor),
	"units.written-off":       on((*Fold).unitsWrittenOff),
	"units.unaccounted":       on((*Fold).unitsUnaccounted),

	"run.opened":       on((*Fold).runOpened),
	"run.paused":       on((*Fold).runPaused),
	"run.resumed":      on((*Fold).runResumed),
	"run.handed-over":  on((*Fold).runHandedOver),
	"run.closed":       on((*Fold).runClosed),
	"labels.printed":   on((*Fold).labelsPrinted),
	"labels.live":      on((*Fold).labelsLive),
	"labels.spoiled":   on((*Fold).labelsSpoiled),
	"mark.voided":      on((*Fold).markVoided),
	"unit.marked":      on((*Fold).unitMarked),
	"material.drawn":   on((*Fold).materialDrawn),
	"material.swapped": on((*Fold).materialSwapped),
	"step.checked":     on((*Fold).stepChecked),
	"units.prepped":    on((*Fold).unitsPrepped),
	"unit.spoiled":     on((*Fold).unitSpoiled),
	"bundle.built":     on((*Fold).bundleBuilt),

	"supply.received":    on((*Fold).supplyReceived),
	"supply.issued":      on((*Fold).supplyIssued),
	"supply.counted":     on((*Fold).supplyCounted),
	"supply.low":         on((*Fold).supplyLow),
	"supply.substituted": on((*Fold).supplySubstituted),
	"matlot.blocked":     on((*Fold).matLotBlocked),
	"rate.set":           on((*Fold).rateSet),

	"carton.opened":      on((*Fold).cartonOpened),
	"unit.placed":        on((*Fold).unitPlaced),
	"unit.taken-out":     on((*Fold).unitTakenOut),
	"carton.finished":    on((*Fold).cartonFinished),
	"carton.weighed":     on((*Fold).cartonWeighed),
	"count.entered":      on((*Fold).countEntered),
	"count.accepted":     on((*Fold).countAccepted),
	"count.voided":       on((*Fold).countVoided),
	"carton.sealed":      on((*Fold).cartonSealed),
	"carton.reopened":    on((*Fold).cartonReopened),
	"carton.voided":      on((*Fold).cartonVoided),
	"carton.handed-over": on((*Fold).cartonHandedOver),
	"load.opened":        on((*Fold).loadOpened),
	"carton.dispatched":  on((*Fold).cartonDispatched),
	"dispatch.cancelled": on((*Fold).dispatchCancelled),
	"load.closed":        on((*Fold).loadClosed),

	"plan.released":        on((*Fold).planReleased),
	"plan.change-proposed": on((*Fold).planChangeProposed),
	"plan.change-approved": on((*Fold).planChangeApproved),
	"plan.amended":         on((*Fold).planAmended),
	"plan.change-declined": on((*Fold).planChangeDeclined),
	"plan.closed":          on((*Fold).planClosed),

	"mismatch.raised":        on((*Fold).mismatchRaised),
	"mismatch.symptom-added": on((*Fold).mismatchSymptomAdded),
	"mismatch.taken":         on((*Fold).mismatchTaken),
	"mismatch.noted":         on((*Fold).mismatchNoted),
	"mismatch.fixed":         on((*Fold).mismatchFixed),
	"mismatch.resolved":      on((*Fold).mismatchResolved),
	"mismatch.reopened":      on((*Fold).mismatchReopened),
	"override.granted":       on((*Fold).overrideGranted),

	"station.joined":    on((*Fold).stationJoined),
	"session.started":   on((*Fold).sessionStarted),
	"session.ended":     on((*Fold).sessionEnded),
	"station.quiet":     on((*Fold).stationQuiet),
	"station.caught-up": on((*Fold).stationCaughtUp),
	"clock.skew-noted":  on((*Fold).clockSkewNoted),
	"scale.checked":     on((*Fold).scaleChecked),
	"scan.refused":      on((*Fold).scanRefused),
	"late.reported":     on((*Fold).lateReported),
	"action.taken-back": on((*Fold).actionTakenBack),

	"claim.opened":           on((*Fold).claimOpened),
	"claim.traced":           on((*Fold).claimTraced),
	"claim.evidence-added":   on((*Fold).claimEvidenceAdded),
	"claim.siblings-checked": on((*Fold).claimSiblingsChecked),
	"claim.linked":           on((*Fold).claimLinked),
	"claim.decided":          on((*Fold).claimDecided),
	"claim.closed":           on((*Fold).claimClosed),

	"head.signed": on((*Fold).headSigned),
	"day.closed":  on((*Fold).dayClosed),

	"log.restored": on((*Fold).logRestored),
}

// on fits a method that takes its own body into the table.
func on[D events.Data](fn func(*Fold, *events.Event, D) error) step {
	return func(f *Fold, e *events.Event) error { return fn(f, e, e.Data.(D)) }
}

// Apply takes the next event of the log. It is total over the logs that lawful
// floors write; an event that cannot be placed, such as units leaving a place
// where they are not, is an error that names the place and wraps
// events.ErrCorrupt. The fold is not to be used after an error.
func (f *Fold) Apply(e *events.Event) error {
	f.touched = f.touched[:0]
	if !f.last.Less(e.Seq) {
		return fmt.Errorf("%w: event %s comes after %s", events.ErrCorrupt, e.Seq, f.last)
	}
	apply, ok := f.table[e.Type()]
	if !ok {
		return fmt.Errorf("%w: event %s: no way to apply %s", events.ErrCorrupt, e.Seq, e.Type())
	}
	f.last, f.now = e.Seq, e.Recorded
	f.count++
	if err := apply(f, e); err != nil {
		return fmt.Errorf("%w: event %s, %s: %w", events.ErrCorrupt, e.Seq, e.Type(), err)
	}
	f.settleKin()
	f.settleAsked()
	f.note(e)
	f.settle()
	return nil
}

// Digest gives the digest of all cells, to be compared with the decider's.
func (f *Fold) Digest() events.Digest { return f.digest }

// Last gives the place of the last event applied.
func (f *Fold) Last() events.Seq { return f.last }

// Now gives the writer's clock at the last event applied.
func (f *Fold) Now() events.Time { return f.now }

// Events gives how many events were applied.
func (f *Fold) Events() int64 { return f.count }

// LastPlaced gives the writer's clock at the last placement, zero when nothing
// was ever placed: its day is the one that a bare hour means.
func (f *Fold) LastPlaced() events.Time { return f.placed }

// Floor gives how the floor was founded.
func (f *Fold) Floor() events.FloorFounded { return f.founded }

// fact says where and when an event happened, and who was there.
func (f *Fold) fact(e *events.Event) fact {
	return fact{refOf(e.Seq), stampOf(e.At), f.names.id(e.Station), f.names.id(e.Badge)}
}
