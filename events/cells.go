package events

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/binary"
	"encoding/hex"
	"fmt"

	"packwright/prep"
)

// Stage is where in its life a unit stands. The first five follow each other;
// the rest are side exits, and dispatched is a fact of the carton.
type Stage string

// The stages, and the cells beside the road that keep the books balanced.
const (
	Received    Stage = "received"
	Triaged     Stage = "triaged"
	Prepped     Stage = "prepped"
	Counted     Stage = "contents-counted"
	Sealed      Stage = "sealed"
	Dispatched  Stage = "dispatched"
	Held        Stage = "held"
	Diverted    Stage = "diverted"
	WrittenOff  Stage = "written-off"
	Consumed    Stage = "consumed"
	Unaccounted Stage = "unaccounted"
	Unmarked    Stage = "unmarked" // its mark was voided; waits for a new one
)

// Stages lists every stage in the order people read them.
var Stages = []Stage{Received, Triaged, Prepped, Counted, Sealed, Dispatched,
	Held, Unmarked, Diverted, WrittenOff, Consumed, Unaccounted}

// Gone says that a unit at this stage has left the floor for good: such cells
// have no place and keep no marks.
func (s Stage) Gone() bool {
	switch s {
	case Dispatched, Diverted, WrittenOff, Consumed, Unaccounted:
		return true
	}
	return false
}

// Cell is one line of the floor's books: units of a lot at a stage in a place.
// Mark is 0 for anonymous units; a marked unit is a cell of its own.
type Cell struct {
	Lot   string
	Item  string
	Stage Stage
	Place string // tote, carton, bench or aside tote; empty when Gone
	Mark  prep.Mark
}

// Digest is an order-free sum over cells: quantity times the hash of each cell,
// added lane by lane. Two readers whose cells are equal have equal digests, and
// moving units costs one hash a cell, whatever the floor's size. It guards
// against mistakes, not against someone who searches for a collision.
type Digest [4]uint64

// Hash gives the digest of one unit in this cell.
func (c Cell) Hash() Digest {
	var buf [128]byte
	b := append(buf[:0], c.Lot...)
	b = append(b, 0)
	b = append(b, c.Item...)
	b = append(b, 0)
	b = append(b, c.Stage...)
	b = append(b, 0)
	b = append(b, c.Place...)
	b = append(b, 0)
	b = binary.BigEndian.AppendUint32(b, uint32(c.Mark))
	sum := sha256.Sum256(b)
	var d Digest
	for i := range d {
		d[i] = binary.BigEndian.Uint64(sum[i*8:])
	}
	return d
}

// Add adds n units of a cell whose Hash is h; n may be negative.
func (d *Digest) Add(h Digest, n int) {
	for i := range d {
		d[i] += h[i] * uint64(n)
	}
}

// String gives 64 hexadecimal signs.
func (d Digest) String() string { return hex.EncodeToString(d.bytes()) }

func (d Digest) bytes() []byte {
	b := make([]byte, 0, 32)
	for _, v := range d {
		b = binary.BigEndian.AppendUint64(b, v)
	}
	return b
}

// MarshalText gives base64.
func (d Digest) MarshalText() ([]byte, error) {
	return base64.StdEncoding.AppendEncode(nil, d.bytes()), nil
}

// read takes a digest as a frame's header has it.
func (d *Digest) read(text string) error {
	var b [32]byte
	if err := readHash(text, b[:]); err != nil {
		return err
	}
	for i := range d {
		d[i] = binary.BigEndian.Uint64(b[8*i:])
	}
	return nil
}

// UnmarshalText reads what MarshalText wrote.
func (d *Digest) UnmarshalText(t []byte) error {
	b, err := base64.StdEncoding.AppendDecode(nil, t)
	if err != nil || len(b) != 32 {
		return fmt.Errorf("%q is not a digest of cells", t)
	}
	for i := range d {
		d[i] = binary.BigEndian.Uint64(b[i*8:])
	}
	return nil
}
