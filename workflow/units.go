package workflow

import (
	"cmp"
	"slices"

	"packwright/events"
	"packwright/prep"
)

// units is what many commands are about: marked units, or q anonymous ones that
// lie together. Marks and quantities go through the same gates; a quantity
// never takes a marked unit. Lot and stage need saying only where units of more
// than one kind lie together.
type units struct {
	Lot   string       `json:"lot"`
	Stage events.Stage `json:"stage"`
	From  string       `json:"from"`
	Q     int          `json:"q"`
	Marks prep.Marks   `json:"marks"`
	Hold  string       `json:"hold"` // said for units on hold, when the place does not tell
	cell  *Cell
}

func (u *units) picked() *units { return u }

// picks is an ask that embeds units.
type picks[T any] interface {
	*T
	picked() *units
}

// Stages from which hands may take units; what is in a carton is taken out first.
var (
	atHand       = []events.Stage{events.Received, events.Triaged, events.Prepped, events.Unmarked}
	atHandOrHeld = []events.Stage{events.Received, events.Triaged, events.Prepped, events.Unmarked, events.Held}
)

// unitGates are the gates of every command that moves units by hand from one of
// the stages. After them the ask's cell is set, and Lot, Stage, From and Q say where and how many.
func unitGates[T any, P picks[T]](stages []events.Stage) []gate[T] {
	on := func(test func(*decision, *units) *Refusal) func(*decision, *T) *Refusal {
		return func(d *decision, in *T) *Refusal { return test(d, P(in).picked()) }
	}
	gates := []gate[T]{
		{Gate{"a place, lot or labels of this floor", "E-SYS-07", ""}, on((*decision).knownUnits)},
		{Gate{"labels that are not cancelled", "E-CAR-07", ""}, on((*decision).liveUnits)},
		{Gate{"units that are in no carton", "E-OUT-01", ""}, on((*decision).outsideCartons)},
		{Gate{"one lot and stage", "E-OUT-05", ""}, on(func(d *decision, u *units) *Refusal { return d.oneCell(u, stages) })},
		{Gate{"a quantity over 0, or as many as the labels", "E-INT-05", ""}, on((*decision).rightNumber)},
		{Gate{"marked units are named by their labels", "E-OUT-06", ""}, on((*decision).unmarkedEnough)},
		{Gate{"so many are there", "E-CAR-12", ""}, on((*decision).enough)},
		{Gate{"none that an open run is working on", "E-PRE-09", ""}, on((*decision).freeOfRuns)},
	}
	if !slices.Contains(stages, events.Held) {
		gates = append(gates, gate[T]{Gate{"units that are not on hold", "E-HLD-03", ""}, on((*decision).notOnHold)})
	}
	return gates
}

func (d *decision) knownUnits(u *units) *Refusal {
	if u.Hold != "" && len(u.Marks) == 0 {
		h := d.f.Holds[u.Hold]
		if h == nil {
			return refuse("E-SYS-07", "Hold "+u.Hold)
		}
		u.Lot, u.Stage, u.From = h.Lot, events.Held, h.Place
	}
	d.scope.Lot = u.Lot
	if len(u.Marks) > 0 {
		d.scope.Mark = u.Marks[0]
		for _, m := range u.Marks {
			if _, void := d.f.Voided[m]; d.f.Ledger.Find(m) == nil && !void {
				return refuse("E-SYS-07", "Label "+m.Display())
			}
		}
		return nil
	}
	u.From = d.f.toteFor(u.From, u.Lot)
	if u.From == "" || !d.f.isPlace(u.From) {
		return refuse("E-SYS-07", cmp.Or(u.From, "That tote"))
	}
	if u.Lot != "" && d.f.Lots[u.Lot] == nil {
		return refuse("E-SYS-07", "Lot "+u.Lot)
	}
	return nil
}

// isPlace says whether goods may lie somewhere of that code.
func (f *Floor) isPlace(code string) bool {
	return f.Totes[code] != nil || f.Cartons[code] != nil || f.Stations[code] != nil || f.isAside(code) || len(f.Ledger.At(code)) > 0
}

func (d *decision) liveUnits(u *units) *Refusal {
	for _, m := range u.Marks {
		if v, void := d.f.Voided[m]; void {
			return cancelled(v)
		}
	}
	return nil
}

// cancelled is the refusal of a label that was voided.
func cancelled(v VoidedMark) *Refusal {
	by := ""
	if v.By != 0 {
		by = " (replaced by " + v.By.Display() + ")"
	}
	return refuse("E-CAR-07", v.At.Clock(), by)
}

func (d *decision) outsideCartons(u *units) *Refusal {
	place := u.From
	if len(u.Marks) > 0 {
		place = d.f.Ledger.Find(u.Marks[0]).Place
	}
	if d.f.Cartons[place] != nil {
		d.scope.Carton = place
		return refuse("E-OUT-01", place)
	}
	return nil
}

// oneCell finds the cell. Of several kinds in one place it takes the only one
// that lies at one of the stages; units on hold are found, for a later gate to speak of.
func (d *decision) oneCell(u *units, stages []events.Stage) *Refusal {
	found := d.cellsOf(u)
	if len(found) > 1 && len(u.Marks) == 0 {
		found = slices.DeleteFunc(found, func(c *Cell) bool { return !slices.Contains(stages, c.Stage) })
	}
	switch {
	case len(found) == 0:
		return nil // enough says that none are there
	case len(found) > 1 || len(u.Marks) > 0 && !u.fits(found[0]):
		return refuse("E-OUT-05", cmp.Or(u.From, found[0].Place))
	}
	c := found[0]
	u.cell, u.Lot, u.Stage, u.From = c, c.Lot, c.Stage, c.Place
	d.scope.Lot = c.Lot
	return nil
}

// cellsOf lists the cells the marks lie in, or the cells in the place that fit.
func (d *decision) cellsOf(u *units) (found []*Cell) {
	for _, m := range u.Marks {
		if c := d.f.Ledger.Find(m); !slices.Contains(found, c) {
			found = append(found, c)
		}
	}
	if len(u.Marks) > 0 {
		return found
	}
	for _, c := range d.f.Ledger.At(u.From) {
		if u.fits(c) {
			found = append(found, c)
		}
	}
	return found
}

// fits says whether a cell is what was said of the units.
func (u *units) fits(c *Cell) bool {
	return (u.Lot == "" || u.Lot == c.Lot) && (u.Stage == "" || u.Stage == c.Stage) && (u.From == "" || u.From == c.Place)
}

func (d *decision) rightNumber(u *units) *Refusal {
	if n := len(u.Marks); n > 0 {
		if u.Q != 0 && u.Q != n {
			return refuse("E-INT-05", u.Q)
		}
		u.Q = n
	}
	if u.Q < 1 {
		return refuse("E-INT-05", u.Q)
	}
	return nil
}

func (d *decision) unmarkedEnough(u *units) *Refusal {
	if c := u.cell; c != nil && len(u.Marks) == 0 && c.N < u.Q && c.Qty() >= u.Q {
		return refuse("E-OUT-06", u.From)
	}
	return nil
}

func (d *decision) enough(u *units) *Refusal {
	if u.cell == nil || len(u.Marks) == 0 && u.cell.N < u.Q {
		return refuse("E-CAR-12", u.From)
	}
	return nil
}

func (d *decision) notOnHold(u *units) *Refusal {
	if u.Stage == events.Held {
		return refuse("E-HLD-03")
	}
	return nil
}

// freeOfRuns keeps triaged pieces where an open run expects them: it takes them
// out itself, as spoiled or given back.
func (d *decision) freeOfRuns(u *units) *Refusal {
	if u.Stage != events.Triaged {
		return nil
	}
	free, run := u.cell.N, ""
	for _, r := range d.f.Runs {
		if r.State != RunClosed && r.Tote == u.From && r.Lot == u.Lot {
			free -= r.inHand()
			if run == "" || r.Run < run {
				run = r.Run
			}
		}
	}
	if run != "" && u.Q > free {
		return refuse("E-PRE-09", run)
	}
	return nil
}

// spend notes that marks have left the floor: they are never used again.
func (f *Floor) spend(marks prep.Marks) {
	f.Spent.Add(marks...)
	for _, m := range marks {
		delete(f.Units, m)
	}
}
