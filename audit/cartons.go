package audit

import (
	"fmt"
	"slices"

	"packwright/events"
	"packwright/prep"
)

// State is where in its life a carton stands.
type State string

// The states of a carton. Blocked is shown in place of open, counting and
// counted while a matter on the carton is not settled.
const (
	Planned    State = "planned"
	Open       State = "open"
	Counting   State = "counting"
	Counted    State = "counted"
	Sealed     State = "sealed"
	Dispatched State = "dispatched"
	Blocked    State = "blocked"
	Void       State = "void"
)

// carton is one box from plan to truck. Nothing of its past is dropped.
type carton struct {
	Plan    planID
	Lines   []planLine // of the revision in force
	Place   placeID
	State   State
	Bench   name
	Tare    prep.Mass
	Box     name
	MatLot  name
	Opened  fact
	Begun   bool // finished, counted or certified since the last void
	Placed  placings
	Fin     []fact // FINISH CARTON, each time
	Weighs  []weighing
	Counts  []count
	Stale   int // how many of them no longer speak of the carton: voided, or before it was opened again
	Certs   []cert
	Seals   []seal
	Sends   []send
	Hands   []hand
	Matters []matterID
	Late    []ref
	Kept    *kept // what it held when it left
	Trail   trail
}

// planLine is one line of the plan in force; Rev is the revision that last changed it.
type planLine struct {
	Item, Owner name
	Q, Rev      int
}

// placings sums up the placements without keeping each.
type placings struct {
	N, Outs     int // units placed and taken out, ever
	First, Last stamp
	Who         []name // badges that placed
}

type count struct {
	Fact     fact
	By       name
	ByPlacer bool
	Method   name
	PWrong   prep.Fixed
	Lines    []line
	Total    int
	Attempt  int
}

type line struct {
	Item name
	Q    int
}

// cert is a count certificate.
type cert struct {
	Fact     fact
	Rev      int
	Lines    []line
	By       name
	ByPlacer bool
	Waiver   string
	Weight   string
	Voided   fact // when it died
	Why      string
}

type seal struct {
	Number string
	Code   prep.SSCC
	Gross  prep.Mass
	Fact   fact
	Broken fact
	Why    string
}

type send struct {
	Load   string
	Seen   string // the seal number read at the door
	Fact   fact
	Back   fact // dispatch cancelled
	Reason string
}

type hand struct {
	From, To name
	Fact     fact
}

// kept is the contents of a carton as it left.
type kept struct {
	Heaps []heap
	Marks []prep.MarkRun
}

// bornUnit is a unit with its maker's own serial number.
type bornUnit struct {
	Carton cartonID
	Lot    lotID
	Fact   fact
}

// cartonOf gives the row of a carton that is there, and indexes the event under it.
func (f *Fold) cartonOf(e *events.Event, key string) (*carton, error) {
	id, ok := f.cartons.find(key)
	if !ok {
		return nil, fmt.Errorf("there is no carton %q", key)
	}
	c := f.cartons.change(id)
	c.Trail.add(e.Seq.Frame)
	return c, nil
}

// newCarton makes a carton's row, in state planned, or gives the one there is.
func (f *Fold) newCarton(key string) (cartonID, *carton) {
	if id, ok := f.cartons.find(key); ok {
		return id, f.cartons.change(id)
	}
	id := f.cartons.id(key)
	c := f.cartons.change(id)
	c.State, c.Place = Planned, f.placeOf(key)
	f.places.change(c.Place).Carton = id
	return id, c
}

func (f *Fold) cartonOpened(e *events.Event, d *events.CartonOpened) error {
	_, c := f.newCarton(d.Carton)
	if c.State != Planned {
		return fmt.Errorf("carton %s is %s", d.Carton, c.State)
	}
	c.State, c.Opened, c.Tare = Open, f.fact(e), d.Tare
	c.Bench, c.Box, c.MatLot = c.Opened.Station, f.names.id(d.Box), f.names.id(d.MatLot)
	if d.MatLot != "" {
		f.matlotOf(e, d.MatLot, d.Box).Stock.Boxes++
	}
	if p, ok := f.plans.find(d.Plan); ok {
		c.Plan = p
	}
	c.Trail.add(e.Seq.Frame)
	return nil
}

func (f *Fold) unitPlaced(e *events.Event, d *events.UnitPlaced) error {
	id, ok := f.cartons.find(d.Carton)
	if !ok {
		return fmt.Errorf("there is no carton %q", d.Carton)
	}
	c, at := f.cartons.change(id), stampOf(e.At)
	c.Trail.add(e.Seq.Frame)
	if err := f.move(goods{d.Lot, d.Item, d.Q, d.Marks}, spot{prepped, d.From}, spot{prepped, d.Carton}, at); err != nil {
		return err
	}
	c.touched()
	f.placed = e.Recorded
	station, who := f.names.id(e.Station), f.names.id(e.Badge)
	if c.Placed.N > 0 {
		f.paces.placed(at.since(c.Placed.Last), d.Q)
	}
	c.Placed.N += d.Q
	c.Placed.First, c.Placed.Last = earlier(c.Placed.First, at), max(c.Placed.Last, at)
	if !slices.Contains(c.Placed.Who, who) {
		c.Placed.Who = append(c.Placed.Who, who)
	}
	for _, m := range d.Marks {
		u := f.unit(m)
		u.Carton, u.Placed, u.PlacedAt, u.PlacedBy, u.PlacedOn = id, refOf(e.Seq), at, who, station
	}
	for _, s := range d.Serials {
		lot, _ := f.lots.find(d.Lot)
		f.serials[s] = bornUnit{id, lot, f.fact(e)}
	}
	return nil
}

func (f *Fold) unitTakenOut(e *events.Event, d *events.UnitTakenOut) error {
	c, err := f.cartonOf(e, d.Carton)
	if err != nil {
		return err
	}
	if err := f.move(goods{d.Lot, d.Item, d.Q, d.Marks}, spot{prepped, d.Carton}, spot{prepped, d.To}, stampOf(e.At)); err != nil {
		return err
	}
	c.touched()
	c.Placed.Outs += d.Q
	for _, s := range d.Serials {
		delete(f.serials, s)
	}
	id, _ := f.cartons.find(d.Carton)
	for _, m := range d.Marks {
		p := f.paper(m)
		p.Outs = append(p.Outs, out{id, f.fact(e), d.Reason})
	}
	f.touch(e, d.To, nil)
	return nil
}

// touched: a carton that was finished is being packed again.
func (c *carton) touched() {
	if c.State == Counting {
		c.State = Open
	}
}
