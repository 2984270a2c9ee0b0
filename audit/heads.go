package audit

import (
	"fmt"

	"golang.org/x/mod/sumdb/tlog"

	"packwright/events"
)

// HeadView is a signed head of the log and where it is kept.
type HeadView struct {
	Seq  events.Seq  `json:"seq"`
	Kept events.Time `json:"kept_at"`
	events.HeadSigned
}

// closedDay is a day's end as the log keeps it.
type closedDay struct {
	Fact fact
	events.DayClosed
}

func (f *Fold) headSigned(e *events.Event, d *events.HeadSigned) error {
	if d.Frame >= e.Seq.Frame || d.Size >= f.count {
		return fmt.Errorf("a head of %d events after frame %d stands in frame %d", d.Size, d.Frame, e.Seq.Frame)
	}
	f.heads = append(f.heads, HeadView{e.Seq, e.Recorded, *d})
	return nil
}

func (f *Fold) dayClosed(e *events.Event, d *events.DayClosed) error {
	f.days = append(f.days, closedDay{f.fact(e), *d})
	return nil
}

// Heads gives all signed heads, oldest first. The caller must not change them.
func (f *Fold) Heads() []HeadView { return f.heads }

// headLaws are about the copies of the log's head that leave the machine.
var headLaws = []Law{
	{"a signed head is one the log had", "size and root of a signed head are those of the tree after its frame",
		func(l *Laws, e *events.Event, _ *Fold) string {
			d, ok := e.Data.(*events.HeadSigned)
			if !ok || l.heads.last == 0 {
				return ""
			}
			size, root, ok := l.heads.at(d.Frame)
			switch {
			case !ok:
				return fmt.Sprintf("frame %d is none of the last %d before it", d.Frame, events.HeadReach)
			case size != d.Size || root != d.Root:
				return fmt.Sprintf("after frame %d there were %d events with root %.16x; %d with root %.16x are signed", d.Frame, size, root[:], d.Size, d.Root[:])
			}
			return ""
		}},
	{"a head is signed with the floor's key", "the key that the log was founded with, and the name of this log",
		func(l *Laws, e *events.Event, _ *Fold) string {
			d, ok := e.Data.(*events.HeadSigned)
			switch {
			case !ok:
				return ""
			case d.Log != events.LogName(l.founded.Floor):
				return fmt.Sprintf("it is a head of %q", d.Log)
			case l.founded.Key == "":
				return "the log was founded without a key"
			}
			if err := d.Verify(l.founded.Key); err != nil {
				return err.Error()
			}
			return ""
		}},
	{"a day is closed once", "each day that is closed is later than the one before",
		func(l *Laws, e *events.Event, _ *Fold) string {
			if d, ok := e.Data.(*events.DayClosed); ok && d.Day <= l.day {
				return fmt.Sprintf("%s is closed after %s", d.Day, l.day)
			}
			return ""
		}},
}

func (l *Laws) rememberHead(e *events.Event) {
	switch d := e.Data.(type) {
	case *events.FloorFounded:
		l.founded = *d
	case *events.DayClosed:
		l.day = d.Day
	case *events.LogRestored:
		l.eras = append(l.eras, d.Era)
	}
}

// Stood tells the laws which head the log had after a frame. Without it they
// cannot say whether a signed head is one of them. Call it for each frame, in order.
func (l *Laws) Stood(frame uint64, size int64, root tlog.Hash) { l.heads.add(frame, size, root) }

// stood remembers the heads that may yet be signed. Up to two frames may have been
// under way when the writer judged a head.
type stood struct {
	last uint64
	ring [events.HeadReach + 8]struct {
		frame uint64
		size  int64
		root  tlog.Hash
	}
}

func (s *stood) add(frame uint64, size int64, root tlog.Hash) {
	x := &s.ring[frame%uint64(len(s.ring))]
	x.frame, x.size, x.root = frame, size, root
	s.last = frame
}

func (s *stood) at(frame uint64) (int64, tlog.Hash, bool) {
	x := &s.ring[frame%uint64(len(s.ring))]
	return x.size, x.root, x.frame == frame && frame > 0
}
