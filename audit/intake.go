package audit

import (
	"fmt"
	"maps"
	"slices"

	"packwright/events"
	"packwright/prep"
)

// lot is one item of one owner from one source.
type lot struct {
	Item, Owner, Kind name
	Source            string
	Origin            prep.Mark
	Expiry            string
	Batch             string
	Announced         int
	Received          int // with corrections; for a bundle lot what was made
	Sum               int // of all its cells: must equal Received, always
	Opened, Closed    fact
	Expected          int // as noted when intake was closed
	Came              int
	Gone              []heap
	Places            []placeID
	Runs              []runID
	Parts             []part  // a bundle's lot: what went into it
	Into              []lotID // bundle lots that took from this one
	Bare              []origin
	Seen              []seenAt // by triage
	Trail             trail
}

// part is what a bundle's lot consumed of another.
type part struct {
	Lot   lotID
	Q     int
	Runs  []runID
	Marks prep.Marks
}

// hold is units set aside with a reason.
type hold struct {
	Lot          lotID
	N            int
	Reason, Rule string
	Hazard       bool
	Place        name
	Fact         fact
}

// lotOf gives the lot of a name; it must be there and hold that item.
func (f *Fold) lotOf(lotName, item string) (lotID, error) {
	id, ok := f.lots.find(lotName)
	if !ok {
		return 0, fmt.Errorf("there is no lot %q", lotName)
	}
	if has := f.names.text(f.lots.row(id).Item); has != item {
		return 0, fmt.Errorf("lot %s is of %s, not of %q", lotName, has, item)
	}
	return id, nil
}

// openLot makes a lot's row, or checks that it is of the same item.
func (f *Fold) openLot(e *events.Event, lotName, item string) (lotID, *lot, error) {
	if lotName == "" || item == "" {
		return 0, nil, fmt.Errorf("a lot without a name or an item")
	}
	if id, ok := f.lots.find(lotName); ok {
		_, err := f.lotOf(lotName, item)
		return id, f.lots.change(id), err
	}
	id := f.lots.id(lotName)
	l := f.lots.change(id)
	l.Item, l.Opened = f.names.id(item), f.fact(e)
	return id, l, nil
}

func (f *Fold) lotAnnounced(e *events.Event, d *events.LotAnnounced) error {
	_, l, err := f.openLot(e, d.Lot, d.Item)
	if err != nil {
		return err
	}
	if l.Announced > 0 {
		return fmt.Errorf("lot %s was announced before", d.Lot)
	}
	l.Owner, l.Kind, l.Source, l.Origin, l.Announced = f.names.id(d.Owner), f.names.id(d.Kind), d.Source, d.Origin, d.Qty
	l.Trail.add(e.Seq.Frame)
	return nil
}

func (f *Fold) lotReceived(e *events.Event, d *events.LotReceived) error {
	id, l, err := f.openLot(e, d.Lot, d.Item)
	if err != nil {
		return err
	}
	if d.Qty < 1 || d.Tote == "" {
		return fmt.Errorf("%d units into tote %q", d.Qty, d.Tote)
	}
	at := stampOf(e.At)
	l.Received += d.Qty
	if d.Expiry != "" {
		l.Expiry = d.Expiry
	}
	if d.Batch != "" {
		l.Batch = d.Batch
	}
	f.put(f.placeOf(d.Tote), heap{Lot: id, Stage: received, N: d.Qty, First: at, Last: at})
	f.touch(e, d.Tote, l)
	return nil
}

func (f *Fold) lotShortfallNoted(e *events.Event, d *events.LotShortfallNoted) error {
	return f.closeIntake(e, d.Lot, d.Expected, d.Received)
}

func (f *Fold) lotOverageNoted(e *events.Event, d *events.LotOverageNoted) error {
	return f.closeIntake(e, d.Lot, d.Expected, d.Received)
}

func (f *Fold) closeIntake(e *events.Event, lotName string, expected, came int) error {
	l := f.lots.changeOf(lotName)
	if l == nil {
		return fmt.Errorf("there is no lot %q", lotName)
	}
	l.Expected, l.Came, l.Closed = expected, came, f.fact(e)
	l.Trail.add(e.Seq.Frame)
	return nil
}

func (f *Fold) lotCorrected(e *events.Event, d *events.LotCorrected) error {
	id, err := f.lotOf(d.Lot, d.Item)
	if err != nil {
		return err
	}
	s, err := stageOf(d.Stage)
	if err != nil || s.gone() || d.Delta == 0 {
		return fmt.Errorf("a correction of %d at stage %q", d.Delta, d.Stage)
	}
	l, at := f.lots.change(id), f.placeOf(d.Place)
	if d.Delta < 0 {
		if _, err := f.take(at, id, s, -d.Delta); err != nil {
			return err
		}
	} else {
		when := stampOf(e.At)
		f.put(at, heap{Lot: id, Stage: s, N: d.Delta, First: when, Last: when})
	}
	l.Received += d.Delta
	f.touch(e, d.Place, l)
	return nil
}

func (f *Fold) toteSplit(e *events.Event, d *events.ToteSplit) error {
	s, err := stageOf(d.Stage)
	if err != nil || s.gone() {
		return fmt.Errorf("a tote of stage %q", d.Stage)
	}
	f.touch(e, d.From, nil)
	f.touch(e, d.To, nil)
	return f.move(goods{d.Lot, d.Item, d.Q, d.Marks}, spot{s, d.From}, spot{s, d.To}, stampOf(e.At))
}

func (f *Fold) toteCleared(e *events.Event, d *events.ToteCleared) error {
	f.touch(e, d.Tote, nil)
	return nil
}

func (f *Fold) toteMoved(e *events.Event, d *events.ToteMoved) error {
	f.places.change(f.placeOf(d.Tote)).Moved = f.names.id(d.Place)
	f.touch(e, d.Tote, nil)
	return nil
}

func (f *Fold) unitsTriaged(e *events.Event, d *events.UnitsTriaged) error {
	to, err := stageOf(d.Verdict.Stage())
	if err != nil || !slices.Contains([]events.Verdict{events.ToPrep, events.ToHold, events.ToDivert, events.ToWriteOff}, d.Verdict) {
		return fmt.Errorf("there is no verdict %q", d.Verdict)
	}
	place := d.Tote
	if to == held {
		place = d.To
		f.hold(e, d.Hold, hold{N: d.Q, Reason: d.Reason, Rule: first(d.Hits), Place: f.names.id(d.To)}, d.Lot)
	}
	if l := f.lots.changeOf(d.Lot); l != nil {
		f.saw(l, d)
		f.touch(e, d.Tote, l)
	}
	return f.move(goods{d.Lot, d.Item, d.Q, nil}, spot{received, d.Tote}, spot{to, place}, stampOf(e.At))
}

func (f *Fold) unitsHeld(e *events.Event, d *events.UnitsHeld) error {
	f.hold(e, d.Hold, hold{N: d.Q, Reason: d.Reason, Rule: d.Rule, Hazard: d.Hazard, Place: f.names.id(d.To)}, d.Lot)
	return f.exit(e, goods{d.Lot, d.Item, d.Q, d.Marks}, d.Stage, d.From, spot{held, d.To})
}

func (f *Fold) hold(e *events.Event, key string, h hold, lotName string) {
	h.Lot, _ = f.lots.find(lotName)
	h.Fact = f.fact(e)
	f.holds[key] = &h
}

func (f *Fold) holdReleased(e *events.Event, d *events.HoldReleased) error {
	to, err := stageOf(d.Stage)
	if err != nil || to.gone() || to == held {
		return fmt.Errorf("a hold released to stage %q", d.Stage)
	}
	if h := f.holds[d.Hold]; h != nil {
		if h.N -= d.Q; h.N <= 0 {
			delete(f.holds, d.Hold)
		}
	}
	f.touch(e, d.From, f.lots.changeOf(d.Lot))
	return f.move(goods{d.Lot, d.Item, d.Q, d.Marks}, spot{held, d.From}, spot{to, d.To}, stampOf(e.At))
}

func (f *Fold) unitsDiverted(e *events.Event, d *events.UnitsDiverted) error {
	return f.exit(e, goods{d.Lot, d.Item, d.Q, d.Marks}, d.Stage, d.From, spot{stage: diverted})
}

func (f *Fold) unitsReturnedToFloor(e *events.Event, d *events.UnitsReturnedToFloor) error {
	id, err := f.lotOf(d.Lot, d.Item)
	if err != nil {
		return err
	}
	if d.Q < 1 {
		return fmt.Errorf("%d units came back", d.Q)
	}
	h, err := f.raise(id, diverted, d.Q, nil)
	if err != nil {
		return err
	}
	h.Stage, h.First = received, stampOf(e.At)
	h.Last = h.First
	f.put(f.placeOf(d.Tote), h)
	f.touch(e, d.Tote, f.lots.change(id))
	return nil
}

func (f *Fold) unitsWrittenOff(e *events.Event, d *events.UnitsWrittenOff) error {
	return f.exit(e, goods{d.Lot, d.Item, d.Q, d.Marks}, d.Stage, d.From, spot{stage: writtenOff})
}

func (f *Fold) unitsUnaccounted(e *events.Event, d *events.UnitsUnaccounted) error {
	return f.exit(e, goods{d.Lot, d.Item, d.Q, d.Marks}, d.Stage, d.From, spot{stage: unaccounted})
}

// exit moves goods off the road, from whatever stage they had.
func (f *Fold) exit(e *events.Event, g goods, from events.Stage, place string, to spot) error {
	s, err := stageOf(from)
	if err != nil || s.gone() {
		return fmt.Errorf("goods at stage %q cannot go anywhere", from)
	}
	if err := f.move(g, spot{s, place}, to, stampOf(e.At)); err != nil {
		return err
	}
	id, _ := f.lots.find(g.lot)
	switch {
	case s == unmarked:
		f.loseBare(id)
	case s == held:
		f.easeHold(id, f.names.id(place), g.q)
	}
	f.touch(e, place, f.lots.change(id))
	return nil
}

// easeHold takes units that left a hold by another way off its number.
func (f *Fold) easeHold(lot lotID, place name, q int) {
	for _, key := range slices.Sorted(maps.Keys(f.holds)) {
		h := f.holds[key]
		if h.Lot != lot || h.Place != place || q < 1 {
			continue
		}
		k := min(q, h.N)
		q -= k
		if h.N -= k; h.N == 0 {
			delete(f.holds, key)
		}
	}
}

// touch indexes an event under a place, and a lot if one is given.
func (f *Fold) touch(e *events.Event, place string, l *lot) {
	if place != "" {
		f.places.change(f.placeOf(place)).Trail.add(e.Seq.Frame)
	}
	if l != nil {
		l.Trail.add(e.Seq.Frame)
	}
}

func first(list []string) string {
	if len(list) == 0 {
		return ""
	}
	return list[0]
}
