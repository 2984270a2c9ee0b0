package workflow

import (
	"slices"
	"strings"

	"packwright/events"
	"packwright/prep"
)

func (f *Floor) unitsTriaged(e *events.Event, d *events.UnitsTriaged) error {
	to := Key{d.Lot, d.Verdict.Stage(), d.Tote}
	if d.Verdict == events.ToHold {
		to.Place = d.To
	}
	if err := f.Ledger.move(Key{d.Lot, events.Received, d.Tote}, to, d.Item, d.Q, nil); err != nil {
		return err
	}
	if d.Verdict == events.ToHold {
		f.newHold(&Hold{Hold: d.Hold, Lot: d.Lot, Item: d.Item, Stage: events.Received, From: d.Tote, Place: d.To, Q: d.Q,
			Rule: d.Rule, Reason: d.Reason, Hazard: d.Hazard})
	}
	if d.Verdict != events.ToPrep {
		return f.leaked(d.Lot, d.Reason)
	}
	return nil
}

func (f *Floor) unitsHeld(e *events.Event, d *events.UnitsHeld) error {
	if err := f.Ledger.move(Key{d.Lot, d.Stage, d.From}, Key{d.Lot, events.Held, d.To}, d.Item, d.Q, d.Marks); err != nil {
		return err
	}
	h := &Hold{Hold: d.Hold, Lot: d.Lot, Item: d.Item, Stage: d.Stage, From: d.From, Place: d.To, Q: d.Q,
		Marks: slices.Clone(d.Marks), Rule: d.Rule, Reason: d.Reason, Hazard: d.Hazard}
	if t := f.Totes[d.From]; t != nil && d.Stage == events.Prepped {
		h.Runs = slices.Clone(t.Runs)
	}
	f.newHold(h)
	return f.leaked(d.Lot, d.Reason)
}

// newHold keeps a hold and counts it.
func (f *Floor) newHold(h *Hold) {
	f.Holds[h.Hold] = h
	f.Next.Hold++
}

func (f *Floor) holdReleased(e *events.Event, d *events.HoldReleased) error {
	h := f.Holds[d.Hold]
	if h == nil {
		return unplaced("hold", d.Hold)
	}
	if t := f.tote(d.To); t != nil {
		if f.Ledger.QtyAt(d.To) == 0 {
			t.Runs = nil
		}
		t.joinRuns(h.Runs)
	}
	if err := f.Ledger.move(Key{d.Lot, events.Held, d.From}, Key{d.Lot, d.Stage, d.To}, d.Item, d.Q, d.Marks); err != nil {
		return err
	}
	return f.unhold(d.Hold, d.Q, d.Marks)
}

// unhold takes units out of a hold's record; "" is none.
func (f *Floor) unhold(hold string, q int, marks prep.Marks) error {
	if hold == "" {
		return nil
	}
	h := f.Holds[hold]
	if h == nil {
		return unplaced("hold", hold)
	}
	h.Q, h.Marks = h.Q-q, h.Marks.Minus(marks)
	if h.Q <= 0 {
		delete(f.Holds, hold)
	}
	return nil
}

func (f *Floor) unitsDiverted(e *events.Event, d *events.UnitsDiverted) error {
	return f.out(Key{d.Lot, d.Stage, d.From}, events.Diverted, outgoing{d.Item, d.Q, d.Marks, d.Hold, d.Reason})
}

func (f *Floor) unitsWrittenOff(e *events.Event, d *events.UnitsWrittenOff) error {
	return f.out(Key{d.Lot, d.Stage, d.From}, events.WrittenOff, outgoing{d.Item, d.Q, d.Marks, d.Hold, d.Reason})
}

func (f *Floor) unitsUnaccounted(e *events.Event, d *events.UnitsUnaccounted) error {
	return f.out(Key{d.Lot, d.Stage, d.From}, events.Unaccounted, outgoing{d.Item, d.Q, d.Marks, d.Hold, ""})
}

// outgoing is what leaves the road.
type outgoing struct {
	item   string
	q      int
	marks  prep.Marks
	hold   string
	reason string
}

// out moves units to a stage that is gone; their marks are spent.
func (f *Floor) out(from Key, stage events.Stage, o outgoing) error {
	if err := f.Ledger.move(from, Key{Lot: from.Lot, Stage: stage}, o.item, o.q, o.marks); err != nil {
		return err
	}
	f.spend(o.marks)
	if err := f.unhold(o.hold, o.q, o.marks); err != nil {
		return err
	}
	return f.leaked(from.Lot, o.reason)
}

// leaked notes that a piece of a lot leaked: from then on its lot-mates are
// looked at one by one. The word is the bench's reason, "leak".
func (f *Floor) leaked(lot, reason string) error {
	l := f.Lots[lot]
	if l == nil {
		return unplaced("lot", lot)
	}
	if strings.HasPrefix(strings.ToLower(reason), "leak") {
		l.Leaked = true
	}
	return nil
}

func (f *Floor) unitsReturnedToFloor(e *events.Event, d *events.UnitsReturnedToFloor) error {
	f.tote(d.Tote)
	return f.Ledger.move(Key{Lot: d.Lot, Stage: events.Diverted}, Key{d.Lot, events.Received, d.Tote}, d.Item, d.Q, nil)
}
