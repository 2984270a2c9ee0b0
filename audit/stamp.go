package audit

import (
	"encoding/binary"
	"strings"
	"time"

	"packwright/events"
)

// stamp is a moment with the offset of the clock that told it, in eight bytes:
// milliseconds since 1970 times 2048, plus the offset in minutes and 1024. Zero:
// not told. Stamps of different instants compare as the instants do.
type stamp int64

func stampOf(t events.Time) stamp {
	if t.IsZero() {
		return 0
	}
	std := t.Std()
	_, off := std.Zone()
	return stamp(std.UnixMilli()<<11 | int64(off/60+1024))
}

func (s stamp) ms() int64 { return int64(s) >> 11 }

// time is the inverse of stampOf.
func (s stamp) time() events.Time {
	if s == 0 {
		return events.Time{}
	}
	off := int(int64(s)&2047) - 1024
	t := time.UnixMilli(s.ms()).UTC()
	if off != 0 {
		t = t.In(time.FixedZone("", off*60))
	}
	return events.At(t)
}

// since is the time from an earlier stamp to this one.
func (s stamp) since(earlier stamp) time.Duration {
	return time.Duration(s.ms()-earlier.ms()) * time.Millisecond
}

// ref is an event's place in the log in eight bytes: frame times 65536, plus index.
type ref uint64

func refOf(s events.Seq) ref { return ref(s.Frame<<16 | uint64(s.Index)&0xffff) }

func (r ref) seq() events.Seq { return events.Seq{Frame: uint64(r) >> 16, Index: int(r & 0xffff)} }

// trail is a rising list of frame sequences, kept as differences: one or two
// bytes a frame. It is the index from a noun to the frames that speak of it.
type trail struct {
	Last  uint64
	Steps []byte
}

// add appends a frame; a frame that is already last is kept once.
func (t *trail) add(frame uint64) {
	if frame <= t.Last {
		return
	}
	t.Steps = binary.AppendUvarint(t.Steps, frame-t.Last)
	t.Last = frame
}

// frames unpacks the list.
func (t trail) frames() []uint64 {
	var out []uint64
	var at uint64
	for b := t.Steps; len(b) > 0; {
		step, n := binary.Uvarint(b)
		at += step
		out = append(out, at)
		b = b[n:]
	}
	return out
}

// fact is where and when something happened, and who was there.
type fact struct {
	Ref     ref
	At      stamp // the bench's clock
	Station name
	Badge   name
}

// name is a short text kept once: a station, a badge, a material, a reason.
type name int32

// names gives each text a number. Number 0 is the empty text.
type names struct {
	List []string
	at   index
}

func newNames() names { return names{List: []string{""}} }

func (n *names) id(s string) name {
	if got := n.lookup(s); got != 0 || s == "" {
		return got
	}
	got := name(len(n.List))
	n.List = append(n.List, strings.Clone(s)) // a decoded text may hold a whole line
	n.at.add(n.List, int32(got))
	return got
}

// lookup gives the number of a text that was kept, or 0.
func (n *names) lookup(s string) name { return name(n.at.find(n.List, s)) }

func (n *names) text(id name) string { return n.List[id] }
