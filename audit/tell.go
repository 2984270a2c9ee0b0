package audit

import (
	"fmt"
	"strings"

	"packwright/events"
	"packwright/prep"
)

// Tell says one event in a few words, without judging it.
func Tell(e *events.Event) string {
	switch d := e.Data.(type) {
	case *events.LotReceived:
		return fmt.Sprintf("received %d of %s, lot %s, into %s", d.Qty, d.Item, d.Lot, d.Tote)
	case *events.UnitsTriaged:
		return fmt.Sprintf("triaged %d of %s: %s", d.Q, d.Item, d.Verdict)
	case *events.UnitsHeld:
		return fmt.Sprintf("held %s: %s", some(d.Q, d.Item, d.Marks), d.Reason)
	case *events.UnitsDiverted:
		return fmt.Sprintf("diverted %s: %s", some(d.Q, d.Item, d.Marks), d.Reason)
	case *events.UnitsWrittenOff:
		return fmt.Sprintf("wrote off %s: %s", some(d.Q, d.Item, d.Marks), d.Reason)
	case *events.RunOpened:
		return fmt.Sprintf("opened run %s, %d of %s, rules r%d", d.Run, d.Q, d.Item, d.RulesRev)
	case *events.RunClosed:
		return fmt.Sprintf("closed run %s: %d in, %d made, %d spoiled", d.Run, d.In, d.Made, d.Spoiled)
	case *events.LabelsPrinted:
		return fmt.Sprintf("printed %d %s labels", d.N, d.Kind)
	case *events.MaterialSwapped:
		return fmt.Sprintf("%s %s was used up at unit %d, then %s", d.Material, d.From, d.AtUnit, d.To)
	case *events.MarkVoided:
		return fmt.Sprintf("cancelled %s: %s", d.Mark, d.Reason)
	case *events.UnitMarked:
		return fmt.Sprintf("gave %s to a unit of lot %s", d.Mark, d.Lot)
	case *events.UnitsPrepped:
		return fmt.Sprintf("made ready %s in run %s", some(d.Q, d.Item, d.Marks), d.Run)
	case *events.UnitSpoiled:
		return fmt.Sprintf("%d of %s spoiled (%s), %s", d.Q, d.Item, d.Cause, d.Verdict)
	case *events.BundleBuilt:
		return fmt.Sprintf("built %d of %s", d.Q, d.Item)
	}
	if s, ok := tellCarton(e); ok {
		return s
	}
	if s, ok := tellSupply(e); ok {
		return s
	}
	return strings.NewReplacer(".", " ", "-", " ").Replace(string(e.Type()))
}

// tellCarton says the events of cartons, counts and matters.
func tellCarton(e *events.Event) (string, bool) {
	switch d := e.Data.(type) {
	case *events.CartonOpened:
		return fmt.Sprintf("opened %s", d.Carton), true
	case *events.UnitPlaced:
		return fmt.Sprintf("placed %s in %s", some(d.Q, d.Item, d.Marks), d.Carton), true
	case *events.UnitTakenOut:
		return fmt.Sprintf("took %s out of %s into %s: %s%s", some(d.Q, d.Item, d.Marks), d.Carton, d.To, d.Reason, byWord(e)), true
	case *events.CartonFinished:
		return fmt.Sprintf("finished %s", d.Carton), true
	case *events.CartonWeighed:
		return fmt.Sprintf("weighed %s: %s", d.Carton, grams(d.Gross)), true
	case *events.CountEntered:
		return fmt.Sprintf("counted %d in %s", d.Total, d.Carton), true
	case *events.CountAccepted:
		return fmt.Sprintf("the count of %s is accepted", d.Carton), true
	case *events.CountVoided:
		return fmt.Sprintf("the count of %s is void: %s", d.Carton, d.Why), true
	case *events.CartonSealed:
		return fmt.Sprintf("sealed %s with %s", d.Carton, d.Seal), true
	case *events.CartonReopened:
		return fmt.Sprintf("opened %s again, seal %s broken: %s", d.Carton, d.Seal, d.Reason), true
	case *events.CartonDispatched:
		return fmt.Sprintf("%s left on %s, seal %s", d.Carton, d.Load, d.Seal), true
	case *events.MismatchRaised:
		return fmt.Sprintf("%s raised: %s", d.Mismatch, d.Kind), true
	case *events.MismatchSymptomAdded:
		return fmt.Sprintf("%s: another sign, %s on %s", d.Mismatch, d.Kind, d.Scope.Carton), true
	case *events.MismatchTaken:
		return fmt.Sprintf("%s has %s", d.By, d.Mismatch), true
	case *events.MismatchResolved:
		return fmt.Sprintf("%s resolved: %s", d.Mismatch, d.Resolution), true
	case *events.ScanRefused:
		return fmt.Sprintf("scan refused, %s", d.Error), true
	case *events.LateReported:
		return fmt.Sprintf("late report of %s, moved nothing", d.Command), true
	}
	return "", false
}

// some names n units, by their marks when they have some.
func some(n int, item string, list prep.Marks) string {
	if len(list) > 0 {
		return fmt.Sprintf("%s (%s)", list, item)
	}
	return fmt.Sprintf("%d of %s", n, item)
}

func byWord(e *events.Event) string {
	if e.Basis == events.Testimony {
		return ", told at " + e.Recorded.Clock()
	}
	return ""
}
