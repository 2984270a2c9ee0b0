package audit

import (
	"encoding/binary"
	"fmt"
	"slices"
	"sync/atomic"

	"packwright/prep"
)

// pageSize is how many marks stand on a page: 9 KB awake. Benches that work on
// rolls of their own keep a page each awake, so a page is small.
const pageSize = 128

// markPage is the records of marks pageSize*no and those that follow.
type markPage struct {
	no    uint32
	warm  bool // it stands in the list of pages changed lately
	units [pageSize]unit
}

// marks are records in pages, because marks count up without holes but a log may
// begin anywhere. A page none of whose units is on the floor rests in a compact
// form, some ten bytes a mark, once warmPages others have been changed since.
type marks struct {
	live  map[uint32]*markPage
	rest  map[uint32]string
	warm  []uint32  // changed lately, in turn; each is in it once
	order []uint32  // all pages there are, rising
	spare *markPage // of one that was put to rest, for the next new one
	// opened are resting pages that questions have unpacked, by the last bits of
	// their number; several may ask at once.
	opened *[openPages]atomic.Pointer[markPage]
}

const (
	warmPages = 64
	openPages = 16
)

func newMarks() marks {
	return marks{live: map[uint32]*markPage{}, rest: map[uint32]string{}, opened: new([openPages]atomic.Pointer[markPage])}
}

// nobody is the record of a mark that was never put on a piece. It is read only.
var nobody unit

// unit gives the record of a mark to be changed before the next event, and makes
// one when there is none.
func (f *Fold) unit(m prep.Mark) *unit {
	no := uint32(m) / pageSize
	p := f.marks.live[no]
	if p == nil {
		if _, ok := f.marks.rest[no]; ok {
			p = f.marks.open(no)
			delete(f.marks.rest, no)
			f.marks.opened[no%openPages].CompareAndSwap(p, nil)
		} else {
			p = f.marks.begin(no)
		}
		f.marks.live[no] = p
	}
	if !p.warm {
		p.warm = true
		f.marks.warm = append(f.marks.warm, no)
	}
	return &p.units[uint32(m)%pageSize]
}

// begin gives a blank page and notes its number.
func (k *marks) begin(no uint32) *markPage {
	i, _ := slices.BinarySearch(k.order, no)
	k.order = slices.Insert(k.order, i, no)
	p := k.spare
	if k.spare = nil; p == nil {
		p = new(markPage)
	}
	*p = markPage{no: no}
	return p
}

// look gives the record of a mark to be read; a blank one when there is none.
func (f *Fold) look(m prep.Mark) *unit {
	no := uint32(m) / pageSize
	p := f.marks.live[no]
	if p == nil {
		if _, ok := f.marks.rest[no]; !ok {
			return &nobody
		}
		p = f.marks.open(no)
	}
	return &p.units[uint32(m)%pageSize]
}

// bound gives the record of a mark to be read, or nil when it was never on a piece.
func (f *Fold) bound(m prep.Mark) *unit {
	if u := f.look(m); u.State != neverBound {
		return u
	}
	return nil
}

// open gives a page that is not awake: unpacked, lately or now, or a blank one.
func (k *marks) open(no uint32) *markPage {
	at := &k.opened[no%openPages]
	if p := at.Load(); p != nil && p.no == no {
		return p
	}
	p := &markPage{no: no}
	packed, ok := k.rest[no]
	if !ok {
		return p
	}
	if err := unpackPage([]byte(packed), &p.units); err != nil {
		panic(fmt.Sprintf("audit: marks from %s: %v", prep.Mark(no*pageSize), err))
	}
	at.Store(p)
	return p
}

// wake unpacks a page of a snapshot that stays awake.
func (k *marks) wake(no uint32) error {
	p := &markPage{no: no}
	err := unpackPage([]byte(k.rest[no]), &p.units)
	k.live[no] = p
	delete(k.rest, no)
	return err
}

// settle puts pages to rest until no more than keep of those changed lately are
// awake. One with a unit on the floor stays awake until it is changed again.
func (k *marks) settle(keep int) {
	if len(k.warm) < 2*keep && keep > 0 || len(k.warm) == 0 {
		return
	}
	n := len(k.warm) - keep
	for _, no := range k.warm[:n] {
		p := k.live[no]
		if p.warm = false; p.done() {
			k.rest[no] = string(packPage(nil, &p.units))
			delete(k.live, no)
			k.spare = p
		}
	}
	k.warm = append(k.warm[:0], k.warm[n:]...)
}

func (p *markPage) done() bool {
	return !slices.ContainsFunc(p.units[:], func(u unit) bool { return u.State == live })
}

// packed gives a page in its compact form, and whether it may rest.
func (k *marks) packed(no uint32) (string, bool) {
	if p := k.live[no]; p != nil {
		return string(packPage(nil, &p.units)), p.done()
	}
	return k.rest[no], true
}

// packPage appends the records that were ever bound: how far each lies from the
// one before, which of its fields are not as foretold, and by how much. Foretold
// is the record before, one unit further on in its run.
func packPage(b []byte, units *[pageSize]unit) []byte {
	var last [unitFields]int64
	before := -1
	for i := range units {
		if units[i].State == neverBound {
			continue
		}
		b = binary.AppendUvarint(b, uint64(i-before))
		before = i
		now := units[i].fields()
		last[ordinalField]++
		var other uint64
		for k := range now {
			if now[k] != last[k] {
				other |= 1 << k
			}
		}
		b = binary.AppendUvarint(b, other)
		for k := range now {
			if now[k] != last[k] {
				b = binary.AppendVarint(b, now[k]-last[k])
			}
		}
		last = now
	}
	return b
}

// unpackPage is the inverse of packPage; the page is blank before.
func unpackPage(b []byte, units *[pageSize]unit) error {
	u := unpacker{b: b}
	var now [unitFields]int64
	at := -1
	for len(u.b) > 0 {
		step := u.num()
		if step < 1 || step > uint64(pageSize-1-at) {
			return fmt.Errorf("%w as a page of marks", errPacked)
		}
		at += int(step)
		now[ordinalField]++
		other := u.num()
		for k := range now {
			if other>>k&1 == 1 {
				now[k] += u.signed()
			}
		}
		if u.bad {
			return fmt.Errorf("%w as a page of marks", errPacked)
		}
		units[at].take(now)
	}
	return nil
}

// A record as numbers: those that differ from unit to unit come first.
const (
	unitFields   = 18
	ordinalField = 3
)

func (u *unit) fields() [unitFields]int64 {
	return [unitFields]int64{u.PlacedAt.ms(), int64(u.Placed >> 16), int64(u.Placed & 0xffff), int64(u.Ordinal), int64(u.Carton), int64(u.Lot), int64(u.Run),
		int64(u.Prepped >> 16), int64(u.Prepped & 0xffff), u.PreppedAt.ms(), int64(u.State), int64(u.Stage), int64(u.PlacedBy), int64(u.PlacedOn),
		int64(u.Place), int64(u.Pos), int64(u.PlacedAt) & 2047, int64(u.PreppedAt) & 2047}
}

// take is the inverse of fields.
func (u *unit) take(v [unitFields]int64) {
	*u = unit{PlacedAt: stamp(v[0]<<11 | v[16]), Placed: ref(v[1])<<16 | ref(v[2]), Ordinal: int32(v[3]), Carton: cartonID(v[4]), Lot: lotID(v[5]),
		Run: runID(v[6]), Prepped: ref(v[7])<<16 | ref(v[8]), PreppedAt: stamp(v[9]<<11 | v[17]), State: markState(v[10]), Stage: stage(v[11]),
		PlacedBy: name(v[12]), PlacedOn: name(v[13]), Place: placeID(v[14]), Pos: int32(v[15])}
}
