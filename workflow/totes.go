package workflow

import (
	"fmt"
	"slices"

	"packwright/events"
	"packwright/prep"
)

// splitAsk moves units, at the stage they have, into another tote.
type splitAsk struct {
	units
	To string `json:"to"`
}

func (in *splitAsk) check() error {
	if in.To == "" {
		return prep.Input("where they go is missing", "scan the tote they go into")
	}
	return nil
}

type clearToteAsk struct {
	Tote string `json:"tote"`
}

type moveToteAsk struct {
	Tote  string `json:"tote"`
	Place string `json:"place"` // a bench or a shelf, as the house names them
	tote  *Tote
}

func (in *moveToteAsk) check() error {
	if in.Place == "" || len(in.Place) > 40 {
		return prep.Input(fmt.Sprintf("%q is no place for a tote", in.Place), "scan the bench or shelf")
	}
	return nil
}

// toteRules keep one lot and one stage in each tote.
var toteRules = []rule{
	on(rule{Name: "split-tote", Who: packers, Late: true}, both(unitGates[splitAsk](atHand), []gate[splitAsk]{
		{Gate{"the tote is empty or holds the same lot at the same stage", "E-INT-02", "mixed-lots"}, func(d *decision, in *splitAsk) *Refusal {
			return d.f.toteTakes(in.To, in.Lot, in.Stage)
		}},
	}), func(d *decision, in *splitAsk) {
		if in.To == in.From {
			return // it lies there
		}
		d.emit(&events.ToteSplit{From: in.From, To: in.To, Lot: in.Lot, Item: in.cell.Item, Stage: in.Stage, Q: in.Q, Marks: in.Marks})
	}),

	on(rule{Name: "clear-tote", Who: packers, Late: true}, []gate[clearToteAsk]{
		{Gate{"a tote", "E-SYS-07", ""}, func(d *decision, in *clearToteAsk) *Refusal {
			if in.Tote == "" || d.f.Cartons[in.Tote] != nil || d.f.Stations[in.Tote] != nil {
				return refuse("E-SYS-07", "Tote "+in.Tote)
			}
			return nil
		}},
		{Gate{"the books have nothing in it", "E-CAR-13", ""}, func(d *decision, in *clearToteAsk) *Refusal {
			if d.f.Ledger.QtyAt(in.Tote) > 0 {
				return refuse("E-CAR-13", in.Tote)
			}
			return nil
		}},
	}, func(d *decision, in *clearToteAsk) {
		if d.f.Totes[in.Tote] != nil || d.f.isAside(in.Tote) {
			d.emit(&events.ToteCleared{Tote: in.Tote})
		} // of a tote never used there is nothing to say
	}),

	on(rule{Name: "move-tote", Who: packers, Late: true}, []gate[moveToteAsk]{
		{Gate{"a tote in use", "E-SYS-07", ""}, func(d *decision, in *moveToteAsk) *Refusal {
			if in.tote = d.f.Totes[in.Tote]; in.tote == nil {
				return refuse("E-SYS-07", "Tote "+in.Tote)
			}
			return nil
		}},
	}, func(d *decision, in *moveToteAsk) {
		if in.tote.Stand != in.Place {
			d.emit(&events.ToteMoved{Tote: in.Tote, Place: in.Place})
		}
	}),
}

// unplaced is the error of an event about something the floor does not know.
func unplaced(what, code string) error {
	return fmt.Errorf("%w: it speaks of %s %q, which is not here", events.ErrCorrupt, what, code)
}

// tote gives a tote's record, made at first sight. Benches, aside totes and
// cartons are places without one.
func (f *Floor) tote(code string) *Tote {
	if code == "" || f.Stations[code] != nil || f.Cartons[code] != nil || f.isAside(code) {
		return nil
	}
	t := f.Totes[code]
	if t == nil {
		t = &Tote{Tote: code}
		f.Totes[code] = t
	}
	return t
}

func (f *Floor) toteSplit(e *events.Event, d *events.ToteSplit) error {
	from := f.Totes[d.From]
	if t := f.tote(d.To); t != nil && d.Stage == events.Prepped && from != nil {
		if f.Ledger.QtyAt(d.To) == 0 {
			t.Runs = nil
		}
		t.joinRuns(from.Runs)
	}
	if err := f.Ledger.move(Key{d.Lot, d.Stage, d.From}, Key{d.Lot, d.Stage, d.To}, d.Item, d.Q, d.Marks); err != nil {
		return err
	}
	if from != nil && f.Ledger.QtyAt(d.From) == 0 {
		from.Runs = nil
	}
	return nil
}

// toteCleared forgets a tote: an empty one has no record until it is used again.
func (f *Floor) toteCleared(e *events.Event, d *events.ToteCleared) error {
	delete(f.Totes, d.Tote)
	return nil
}

func (f *Floor) toteMoved(e *events.Event, d *events.ToteMoved) error {
	t := f.Totes[d.Tote]
	if t == nil {
		return unplaced("tote", d.Tote)
	}
	t.Stand = d.Place
	return nil
}

// joinRuns adds the runs that units put into a tote come from.
func (t *Tote) joinRuns(runs []string) {
	for _, r := range runs {
		if !slices.Contains(t.Runs, r) {
			t.Runs = append(t.Runs, r)
		}
	}
}
