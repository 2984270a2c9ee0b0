package plain

import (
	"cmp"
	"fmt"
	"slices"

	"packwright/events"
	"packwright/prep"
)

// Unit is one piece as the books must have it.
type Unit struct {
	Lot, Item string
	Stage     events.Stage
	Place     string
	Mark      prep.Mark
	Hold      string // the hold it is under
	left      *exit  // how it stood when its carton left
}

// exit is what a dispatched unit had.
type exit struct {
	carton string
	mark   prep.Mark
}

// Model is the floor told again, slowly.
type Model struct {
	Units []Unit

	house    House
	books    map[int]*prep.Rulebook
	rev      int
	items    map[string]prep.Item
	lots     map[string]*lot
	runs     map[string]*run
	cartons  map[string]*carton
	holds    map[string]*hold
	plans    map[string]*plan
	changes  map[string]*change
	badges   map[string]*badge
	seals    map[string]bool
	stands   map[string]string  // tote → where it stands
	begun    map[string]*run    // station → what the last first scan there was about
	recent   map[string][]*done // by station
	sessions map[string]int     // sign-ins of a badge
	nextHold int
	nextProp int
	nextMark prep.Mark
	hashes   map[events.Cell]events.Digest
}

type lot struct {
	item, owner string
	over        bool // a set's lot of which everything has left; its name is not used again
}

type run struct {
	tote, lot, item string
	station         string
	rev             int
	sets            string // the lot of the sets it builds
	stand           string // where they stand
	out             string // where what is ready went last
	left            int    // pieces taken in hand and not yet made, consumed or spoiled
	shut            bool
}

type carton struct {
	state string // open, counting, counted, sealed, dispatched, void
	plan  string
	seal  string
	load  string
	count *count
}

// count is what a person said since the carton was finished.
type count struct {
	lines map[string]int // by item, or nil
	total int
}

type hold struct {
	lot, from, place string
	stage            events.Stage
}

type plan struct{ lines map[planKey]int }

type planKey struct{ carton, item, owner string }

// change is a proposal and who said yes for which owner.
type change struct {
	plan  string
	delta map[planKey]int
	yes   map[string]bool
	over  bool
}

type badge struct {
	roles   []events.Role
	ownerOf string
}

// done is a kept command with what it moved, for take-back.
type done struct {
	told    Told
	session string
	moves   []move
	taken   bool
}

// move is units that went from one place to another at stage prepped.
type move struct {
	lot, from, to string
	q             int
	marks         prep.Marks
}

// House is what the rules of the floor leave to the house, as far as it moves goods.
type House struct {
	NoTotes   bool                 // a lot is its own tote
	NoRuns    bool                 // the first scan of a lot at a bench opens its run
	Delegated map[string]Delegated // owner → what a supervisor may change alone
}

// Delegated is the smaller of so many units and so much of the line.
type Delegated struct{ Units, Percent int }

// New gives an empty floor.
func New(h House) *Model {
	return &Model{house: h, books: map[int]*prep.Rulebook{}, items: map[string]prep.Item{}, lots: map[string]*lot{}, runs: map[string]*run{}, cartons: map[string]*carton{}, holds: map[string]*hold{},
		plans: map[string]*plan{}, changes: map[string]*change{}, badges: map[string]*badge{},
		seals: map[string]bool{}, stands: map[string]string{}, begun: map[string]*run{}, recent: map[string][]*done{}, sessions: map[string]int{}, nextMark: 1,
		hashes: map[events.Cell]events.Digest{}}
}

// Cells counts the units of each cell.
func (m *Model) Cells() map[events.Cell]int {
	n := map[events.Cell]int{}
	for i := range m.Units {
		n[m.Units[i].cell()]++
	}
	return n
}

func (u *Unit) cell() events.Cell {
	return events.Cell{Lot: u.Lot, Item: u.Item, Stage: u.Stage, Place: u.Place, Mark: u.Mark}
}

// Digest sums the cells of all units.
func (m *Model) Digest() (d events.Digest) {
	for i := range m.Units {
		c := m.Units[i].cell()
		h, ok := m.hashes[c]
		if !ok {
			h = c.Hash()
			m.hashes[c] = h
		}
		d.Add(h, 1)
	}
	return d
}

// Listing gives one line a cell, sorted: for people who look for a difference.
func (m *Model) Listing() (out []string) {
	for c, n := range m.Cells() {
		out = append(out, Line(c, n))
	}
	slices.Sort(out)
	return out
}

// Line writes a cell with its number.
func Line(c events.Cell, n int) string {
	mark := ""
	if c.Mark != 0 {
		mark = " " + c.Mark.String()
	}
	return fmt.Sprintf("%s %s %s %s%s × %d", c.Lot, c.Item, c.Stage, cmp.Or(c.Place, "—"), mark, n)
}

// Count counts the units that a test holds for.
func (m *Model) Count(is func(*Unit) bool) (n int) {
	for i := range m.Units {
		if is(&m.Units[i]) {
			n++
		}
	}
	return n
}

// take finds q units, the marks when there are marks and else anonymous ones,
// for which is holds. It is an error when there are not so many.
func (m *Model) take(q int, marks prep.Marks, is func(*Unit) bool) ([]*Unit, error) {
	var out []*Unit
	for _, mark := range marks {
		i := slices.IndexFunc(m.Units, func(u Unit) bool { return u.Mark == mark && is(&u) })
		if i < 0 {
			return nil, fmt.Errorf("%s is not where it was taken from", mark)
		}
		out = append(out, &m.Units[i])
	}
	for i := range m.Units {
		if len(marks) == 0 && len(out) < q && m.Units[i].Mark == 0 && is(&m.Units[i]) {
			out = append(out, &m.Units[i])
		}
	}
	if len(marks) == 0 && len(out) < q || q == 0 && len(marks) == 0 {
		return nil, fmt.Errorf("%d pieces were taken where there are %d", q, len(out))
	}
	return out, nil
}

// at tells of one cell without its marks.
func at(lot string, stage events.Stage, place string) func(*Unit) bool {
	return func(u *Unit) bool { return u.Lot == lot && u.Stage == stage && u.Place == place }
}

// all moves every unit at a stage in a place to another stage there.
func (m *Model) all(place string, from, to events.Stage) {
	for i := range m.Units {
		if u := &m.Units[i]; u.Place == place && u.Stage == from {
			u.Stage = to
		}
	}
}

// gone takes units off the floor: no place, no mark, no hold.
func gone(units []*Unit, stage events.Stage) {
	for _, u := range units {
		u.Stage, u.Place, u.Mark, u.Hold = stage, "", 0, ""
	}
}
