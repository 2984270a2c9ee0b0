package audit

import (
	"encoding/base64"
	"encoding/binary"
	"fmt"
)

// packPage writes a page of mark records as one line: its number and, for each
// record that was ever bound, its index and fields as varints, in base64.
func packPage(no uint32, p *[pageSize]unit) []byte {
	b := binary.AppendUvarint(nil, uint64(no))
	for i := range p {
		u := &p[i]
		if u.State == neverBound {
			continue
		}
		b = binary.AppendUvarint(b, uint64(i))
		for _, v := range u.pack() {
			b = binary.AppendUvarint(b, v)
		}
	}
	return base64.StdEncoding.AppendEncode(nil, b)
}

// pack lists a record's fields; unpack is its inverse.
func (u *unit) pack() [14]uint64 {
	return [14]uint64{uint64(u.Lot), uint64(u.Run), uint64(u.Ordinal), uint64(u.Place), uint64(u.Pos), uint64(u.Carton), uint64(u.Stage),
		uint64(u.State), uint64(u.Prepped), uint64(u.PreppedAt), uint64(u.Placed), uint64(u.PlacedAt), uint64(u.PlacedBy), uint64(u.PlacedOn)}
}

func (u *unit) unpack(v [14]uint64) {
	*u = unit{Lot: lotID(v[0]), Run: runID(v[1]), Ordinal: int32(v[2]), Place: placeID(v[3]), Pos: int32(v[4]), Carton: cartonID(v[5]),
		Stage: stage(v[6]), State: markState(v[7]), Prepped: ref(v[8]), PreppedAt: stamp(v[9]), Placed: ref(v[10]), PlacedAt: stamp(v[11]),
		PlacedBy: name(v[12]), PlacedOn: name(v[13])}
}

// unpackPage is the inverse of packPage.
func (f *Fold) unpackPage(line []byte) error {
	b, err := base64.StdEncoding.AppendDecode(nil, line)
	if err != nil {
		return fmt.Errorf("a page of marks: %w", err)
	}
	next := func() (v uint64) {
		v, n := binary.Uvarint(b)
		if n <= 0 {
			err, b = fmt.Errorf("a page of marks is cut short"), nil
			return 0
		}
		b = b[n:]
		return v
	}
	no := next()
	p := new([pageSize]unit)
	for len(b) > 0 {
		i := next()
		var v [14]uint64
		for k := range v {
			v[k] = next()
		}
		if err != nil || i >= pageSize {
			return fmt.Errorf("a page of marks is not readable: %v", err)
		}
		p[i].unpack(v)
	}
	f.marks.Pages[uint32(no)] = p
	return err
}
