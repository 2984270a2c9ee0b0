package workflow

import (
	"cmp"
	"fmt"
	"slices"

	json "github.com/goccy/go-json"

	"packwright/events"
	"packwright/prep"
)

// Key names a cell of the books without its marks.
type Key struct {
	Lot   string       `json:"lot"`
	Stage events.Stage `json:"stage"`
	Place string       `json:"place,omitempty"`
}

// Cell is what lies there: N anonymous units and the marked ones.
type Cell struct {
	Key
	Item  string     `json:"item"`
	N     int        `json:"n,omitempty"`
	Marks prep.Marks `json:"marks,omitempty"` // sorted
	hash  events.Digest
}

// Qty counts both.
func (c *Cell) Qty() int { return c.N + len(c.Marks) }

// Ledger is the floor's books: cells, where each mark is, what lies where, and
// the running digest of it all. Only take and put change it, always in pairs
// but for receipts.
type Ledger struct {
	cells  map[Key]*Cell
	places map[string][]*Cell
	marks  map[prep.Mark]*Cell
	digest events.Digest
}

// NewLedger gives empty books.
func NewLedger() *Ledger {
	return &Ledger{cells: map[Key]*Cell{}, places: map[string][]*Cell{}, marks: map[prep.Mark]*Cell{}}
}

// Digest is the order-free sum over all cells there ever were and still count.
func (l *Ledger) Digest() events.Digest { return l.digest }

// Cell gives a cell, or nil.
func (l *Ledger) Cell(k Key) *Cell { return l.cells[k] }

// N counts the anonymous units in a cell.
func (l *Ledger) N(k Key) int {
	if c := l.cells[k]; c != nil {
		return c.N
	}
	return 0
}

// At lists the cells in a place. Do not keep or change it.
func (l *Ledger) At(place string) []*Cell { return l.places[place] }

// QtyAt counts the units in a place.
func (l *Ledger) QtyAt(place string) (n int) {
	for _, c := range l.places[place] {
		n += c.Qty()
	}
	return n
}

// Find gives the cell of a mark that is on the floor, or nil.
func (l *Ledger) Find(m prep.Mark) *Cell { return l.marks[m] }

// take removes q units from a cell: the marks, or q anonymous ones.
func (l *Ledger) take(k Key, q int, marks prep.Marks) error {
	c := l.cells[k]
	if c == nil || len(marks) > 0 && q != len(marks) || len(marks) == 0 && c.N < q || q < 1 {
		return fmt.Errorf("%w: %d units leave %s/%s/%s, which has not so many", events.ErrCorrupt, q, k.Lot, k.Stage, k.Place)
	}
	if len(marks) == 0 {
		c.N -= q
		l.digest.Add(c.hash, -q)
	}
	for _, m := range marks {
		i, ok := slices.BinarySearch(c.Marks, m)
		if !ok {
			return fmt.Errorf("%w: %s leaves %s/%s/%s, where it is not", events.ErrCorrupt, m, k.Lot, k.Stage, k.Place)
		}
		c.Marks = slices.Delete(c.Marks, i, i+1)
		delete(l.marks, m)
		l.digest.Add(c.hashOf(m), -1)
	}
	if c.Qty() == 0 {
		l.drop(c)
	}
	return nil
}

// put adds q units to a cell: marked ones when marks are given and the stage keeps marks.
func (l *Ledger) put(k Key, item string, q int, marks prep.Marks) {
	if k.Stage.Gone() {
		k.Place, marks = "", nil
	}
	c := l.cells[k]
	if c == nil {
		c = &Cell{Key: k, Item: item}
		c.hash = c.hashOf(0)
		l.cells[k] = c
		if k.Place != "" {
			at := l.places[k.Place]
			i, _ := slices.BinarySearchFunc(at, c, byKey)
			l.places[k.Place] = slices.Insert(at, i, c)
		}
	}
	if len(marks) == 0 {
		c.N += q
		l.digest.Add(c.hash, q)
		return
	}
	for _, m := range marks {
		i, _ := slices.BinarySearch(c.Marks, m)
		c.Marks = slices.Insert(c.Marks, i, m)
		l.marks[m] = c
		l.digest.Add(c.hashOf(m), 1)
	}
}

// move takes and puts.
func (l *Ledger) move(from, to Key, item string, q int, marks prep.Marks) error {
	if err := l.take(from, q, marks); err != nil {
		return err
	}
	l.put(to, item, q, marks)
	return nil
}

// moveAll moves everything at one stage in a place to another stage there.
func (l *Ledger) moveAll(place string, from, to events.Stage) error {
	for _, c := range slices.Clone(l.places[place]) {
		if c.Stage != from {
			continue
		}
		k := Key{c.Lot, to, place}
		if n := c.N; n > 0 {
			if err := l.move(c.Key, k, c.Item, n, nil); err != nil {
				return err
			}
		}
		if len(c.Marks) > 0 {
			marks := slices.Clone(c.Marks)
			if err := l.move(c.Key, k, c.Item, len(marks), marks); err != nil {
				return err
			}
		}
	}
	return nil
}

// drop forgets an empty cell.
func (l *Ledger) drop(c *Cell) {
	delete(l.cells, c.Key)
	if c.Place == "" {
		return
	}
	at := l.places[c.Place]
	if i := slices.Index(at, c); i >= 0 {
		at = slices.Delete(at, i, i+1)
	}
	if len(at) == 0 {
		delete(l.places, c.Place)
	} else {
		l.places[c.Place] = at
	}
}

// forget drops the cells of a lot whose units have all gone; the digest keeps counting them.
func (l *Ledger) forget(lot string) {
	for _, s := range events.Stages {
		if s.Gone() {
			delete(l.cells, Key{Lot: lot, Stage: s})
		}
	}
}

func (c *Cell) hashOf(m prep.Mark) events.Digest {
	return events.Cell{Lot: c.Lot, Item: c.Item, Stage: c.Stage, Place: c.Place, Mark: m}.Hash()
}

// byKey orders cells, so that what depends on their order is the same after a restart.
func byKey(a, b *Cell) int {
	return cmp.Or(cmp.Compare(a.Lot, b.Lot), cmp.Compare(a.Stage, b.Stage), cmp.Compare(a.Place, b.Place))
}

// ledgerState is the books on disk.
type ledgerState struct {
	Digest events.Digest `json:"digest"`
	Cells  []*Cell       `json:"cells"`
}

// MarshalJSON writes the cells in order, so that equal books are equal bytes.
func (l *Ledger) MarshalJSON() ([]byte, error) {
	return json.Marshal(ledgerState{Digest: l.digest, Cells: l.sorted()})
}

// sorted lists all cells in order.
func (l *Ledger) sorted() []*Cell {
	out := make([]*Cell, 0, len(l.cells))
	for _, c := range l.cells {
		out = append(out, c)
	}
	slices.SortFunc(out, byKey)
	return out
}

// UnmarshalJSON reads what MarshalJSON wrote.
func (l *Ledger) UnmarshalJSON(b []byte) error {
	var s ledgerState
	if err := json.Unmarshal(b, &s); err != nil {
		return err
	}
	*l = *NewLedger()
	for _, c := range s.Cells {
		if c.N > 0 {
			l.put(c.Key, c.Item, c.N, nil)
		}
		if len(c.Marks) > 0 {
			l.put(c.Key, c.Item, len(c.Marks), c.Marks)
		}
	}
	l.digest = s.Digest
	return nil
}
