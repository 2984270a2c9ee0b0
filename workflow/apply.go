package workflow

import (
	"fmt"

	"packwright/events"
)

// Apply folds one event into the floor. It is total over what Decide gives; an
// event it cannot place wraps events.ErrCorrupt, and the floor is not to be
// used after it. e.Seq must be set.
func (f *Floor) Apply(e *events.Event) error {
	f.remember(e)
	took := f.consumes(e.Data)
	if err := f.apply(e); err != nil {
		return fmt.Errorf("%s %s: %w", e.Seq, e.Type(), err)
	}
	f.consume(took)
	f.Seq, f.Recorded = e.Seq, events.Max(f.Recorded, e.Recorded)
	return nil
}

// remember keeps that a command is in the log: its number for ever, its first
// event for a while. A refused scan does not make its command known.
func (f *Floor) remember(e *events.Event) {
	if e.Sum == "" || e.Type() == "scan.refused" {
		return
	}
	id, err := ParseCommandID(e.Cause)
	if err != nil {
		return // written by init, or by another program: not a bench's
	}
	if e.Type() == "floor.founded" {
		f.Stations[Board] = newStation(Board)
	}
	s := f.Stations[id.Station]
	if s == nil {
		return
	}
	k := s.Epochs[id.Epoch]
	if k == nil {
		if s.Epochs == nil { // read from a snapshot
			s.Epochs = map[string]*KeptNumbers{}
		}
		k = &KeptNumbers{}
		s.Epochs[id.Epoch] = k
	}
	k.Kept = k.Kept.add(id.N)
	if e.Badge != "" { // not the floor's own clockwork
		s.Heard, s.Quiet = e.Recorded, false
	}
	s.keep(Recent{ID: e.Cause, Sum: e.Sum, Type: e.Type(), Seq: e.Seq, At: e.Recorded, Session: s.sessionOf(e.Badge), Badge: e.Badge})
}

// keep adds to the last commands, and lets go of the oldest. They lie in one
// array with some room behind them; when that is used up they move to its front,
// so that a station at work allocates nothing for them.
func (s *Station) keep(r Recent) {
	if n := len(s.Recent); n == recentKept {
		r.Undo = s.Recent[0].Undo[:0]
		s.Recent = s.Recent[1:]
		if cap(s.Recent) == n-1 {
			if len(s.room) == 0 {
				s.room = make([]Recent, recentKept+recentMore)
			}
			s.Recent = s.room[:copy(s.room, s.Recent)]
		}
	}
	s.Recent = append(s.Recent, r)
}

// undoable notes how e, of the command just applied, could be taken back.
func (f *Floor) undoable(e *events.Event, u Undo) {
	id, err := ParseCommandID(e.Cause)
	if err != nil || f.Stations[id.Station] == nil {
		return
	}
	s := f.Stations[id.Station]
	if n := len(s.Recent); n > 0 && s.Recent[n-1].ID == e.Cause {
		u.Of = e.Type()
		s.Recent[n-1].Undo = append(s.Recent[n-1].Undo, u)
	}
}

// apply has one line for each type of the closed list.
func (f *Floor) apply(e *events.Event) error {
	switch d := e.Data.(type) {
	case *events.FloorFounded:
		return f.floorFounded(e, d)
	case *events.ItemRegistered:
		return f.itemRegistered(e, d)
	case *events.ItemRevised:
		return f.itemRevised(e, d)
	case *events.RulebookPublished:
		return f.rulebookPublished(e, d)
	case *events.RulebookBlocked:
		return f.rulebookBlocked(e, d)
	case *events.BadgeEnrolled:
		return f.badgeEnrolled(e, d)
	case *events.BadgeRetired:
		return f.badgeRetired(e, d)
	case *events.RecipeCleared:
		return f.recipeCleared(e, d)
	case *events.LotAnnounced:
		return f.lotAnnounced(e, d)
	case *events.LotReceived:
		return f.lotReceived(e, d)
	case *events.LotShortfallNoted:
		return f.lotShortfallNoted(e, d)
	case *events.LotOverageNoted:
		return f.lotOverageNoted(e, d)
	case *events.LotCorrected:
		return f.lotCorrected(e, d)
	case *events.ToteSplit:
		return f.toteSplit(e, d)
	case *events.ToteCleared:
		return f.toteCleared(e, d)
	case *events.ToteMoved:
		return f.toteMoved(e, d)
	case *events.UnitsTriaged:
		return f.unitsTriaged(e, d)
	case *events.UnitsHeld:
		return f.unitsHeld(e, d)
	case *events.HoldReleased:
		return f.holdReleased(e, d)
	case *events.UnitsDiverted:
		return f.unitsDiverted(e, d)
	case *events.UnitsReturnedToFloor:
		return f.unitsReturnedToFloor(e, d)
	case *events.UnitsWrittenOff:
		return f.unitsWrittenOff(e, d)
	case *events.UnitsUnaccounted:
		return f.unitsUnaccounted(e, d)
	case *events.RunOpened:
		return f.runOpened(e, d)
	case *events.RunPaused:
		return f.runPaused(e, d)
	case *events.RunResumed:
		return f.runResumed(e, d)
	case *events.RunHandedOver:
		return f.runHandedOver(e, d)
	case *events.RunClosed:
		return f.runClosed(e, d)
	case *events.LabelsPrinted:
		return f.labelsPrinted(e, d)
	case *events.LabelsLive:
		return f.labelsLive(e, d)
	case *events.LabelsSpoiled:
		return f.labelsSpoiled(e, d)
	case *events.MarkVoided:
		return f.markVoided(e, d)
	case *events.UnitMarked:
		return f.unitMarked(e, d)
	case *events.MaterialDrawn:
		return f.materialDrawn(e, d)
	case *events.MaterialSwapped:
		return f.materialSwapped(e, d)
	case *events.StepChecked:
		return f.stepChecked(e, d)
	case *events.UnitsPrepped:
		return f.unitsPrepped(e, d)
	case *events.UnitSpoiled:
		return f.unitSpoiled(e, d)
	case *events.BundleBuilt:
		return f.bundleBuilt(e, d)
	case *events.SupplyReceived:
		return f.supplyReceived(e, d)
	case *events.SupplyIssued:
		return f.supplyIssued(e, d)
	case *events.SupplyCounted:
		return f.supplyCounted(e, d)
	case *events.SupplyLow:
		return f.supplyLow(e, d)
	case *events.SupplySubstituted:
		return f.supplySubstituted(e, d)
	case *events.MatLotBlocked:
		return f.matLotBlocked(e, d)
	case *events.RateSet:
		return f.rateSet(e, d)
	case *events.CartonOpened:
		return f.cartonOpened(e, d)
	case *events.UnitPlaced:
		return f.unitPlaced(e, d)
	case *events.UnitTakenOut:
		return f.unitTakenOut(e, d)
	case *events.CartonFinished:
		return f.cartonFinished(e, d)
	case *events.CartonWeighed:
		return f.cartonWeighed(e, d)
	case *events.CountEntered:
		return f.countEntered(e, d)
	case *events.CountAccepted:
		return f.countAccepted(e, d)
	case *events.CountVoided:
		return f.countVoided(e, d)
	case *events.CartonSealed:
		return f.cartonSealed(e, d)
	case *events.CartonReopened:
		return f.cartonReopened(e, d)
	case *events.CartonVoided:
		return f.cartonVoided(e, d)
	case *events.CartonHandedOver:
		return f.cartonHandedOver(e, d)
	case *events.LoadOpened:
		return f.loadOpened(e, d)
	case *events.CartonDispatched:
		return f.cartonDispatched(e, d)
	case *events.DispatchCancelled:
		return f.dispatchCancelled(e, d)
	case *events.LoadClosed:
		return f.loadClosed(e, d)
	case *events.PlanReleased:
		return f.planReleased(e, d)
	case *events.PlanChangeProposed:
		return f.planChangeProposed(e, d)
	case *events.PlanChangeApproved:
		return f.planChangeApproved(e, d)
	case *events.PlanAmended:
		return f.planAmended(e, d)
	case *events.PlanChangeDeclined:
		return f.planChangeDeclined(e, d)
	case *events.PlanClosed:
		return f.planClosed(e, d)
	case *events.MismatchRaised:
		return f.mismatchRaised(e, d)
	case *events.MismatchSymptomAdded:
		return f.mismatchSymptomAdded(e, d)
	case *events.MismatchTaken:
		return f.mismatchTaken(e, d)
	case *events.MismatchNoted:
		return f.mismatchNoted(e, d)
	case *events.MismatchFixed:
		return f.mismatchFixed(e, d)
	case *events.MismatchResolved:
		return f.mismatchResolved(e, d)
	case *events.MismatchReopened:
		return f.mismatchReopened(e, d)
	case *events.OverrideGranted:
		return f.overrideGranted(e, d)
	case *events.StationJoined:
		return f.stationJoined(e, d)
	case *events.SessionStarted:
		return f.sessionStarted(e, d)
	case *events.SessionEnded:
		return f.sessionEnded(e, d)
	case *events.StationQuiet:
		return f.stationQuiet(e, d)
	case *events.StationCaughtUp:
		return f.stationCaughtUp(e, d)
	case *events.ClockSkewNoted:
		return f.clockSkewNoted(e, d)
	case *events.ScaleChecked:
		return f.scaleChecked(e, d)
	case *events.ScanRefused:
		return f.scanRefused(e, d)
	case *events.LateReported:
		return f.lateReported(e, d)
	case *events.ActionTakenBack:
		return f.actionTakenBack(e, d)
	case *events.ClaimOpened:
		return f.claimOpened(e, d)
	case *events.ClaimTraced:
		return f.claimTraced(e, d)
	case *events.ClaimEvidenceAdded:
		return f.claimKnown(d.Claim)
	case *events.ClaimSiblingsChecked:
		return f.claimKnown(d.Claim)
	case *events.ClaimLinked:
		return f.claimLinked(e, d)
	case *events.ClaimDecided:
		return f.claimDecided(e, d)
	case *events.ClaimClosed:
		return f.claimClosed(e, d)
	case *events.HeadSigned:
		return f.headSigned(e, d)
	case *events.DayClosed:
		return f.dayClosed(e, d)
	case *events.LogRestored:
		return f.logRestored(e, d)
	}
	return fmt.Errorf("%w: no place for this type", events.ErrCorrupt)
}
