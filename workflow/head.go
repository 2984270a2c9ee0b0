package workflow

import (
	"fmt"
	"maps"
	"slices"
	"time"

	"golang.org/x/mod/sumdb/tlog"

	"packwright/events"
	"packwright/prep"
)

// Heads tells which head the log had after a frame: its events and the root over
// them. It gives false for frames that are not durable yet, and may for those
// that more than events.HeadReach frames have followed.
type Heads func(frame uint64) (size int64, root tlog.Hash, ok bool)

// KnowHeads lets the floor's gates ask for heads of its log. A floor that knows
// none lets none be signed.
func (f *Floor) KnowHeads(h Heads) { f.heads = h }

// Newest gives the newest head that can be signed: of the last frame that is
// durable, which may be some frames behind the floor.
func (f *Floor) Newest() (frame uint64, size int64, root tlog.Hash, ok bool) {
	if f.heads == nil {
		return 0, 0, tlog.Hash{}, false
	}
	for frame = f.Seq.Frame; frame > 0 && frame+events.HeadReach > f.Seq.Frame; frame-- {
		if size, root, ok = f.heads(frame); ok {
			return frame, size, root, true
		}
	}
	return 0, 0, tlog.Hash{}, false
}

// HeadDue says that a truck has left, or a day was closed, and that no head was
// signed since.
func (f *Floor) HeadDue() bool { return f.Key != "" && f.Due }

// signHeadAsk is given by whoever holds the floor's key: the decider never sees
// it, only what was signed.
type signHeadAsk struct{ events.HeadSigned }

type closeDayAsk struct {
	Day string `json:"day"` // empty: today, by the writer's clock
}

func (in *closeDayAsk) check() error {
	if in.Day == "" {
		return nil
	}
	if _, err := time.Parse(time.DateOnly, in.Day); err != nil {
		return prep.Input(fmt.Sprintf("%q is no day", in.Day), "write it like 2031-03-04")
	}
	return nil
}

// headRules make copies of the log's head that can leave the machine.
var headRules = []rule{
	on(rule{Name: "sign-head"}, []gate[signHeadAsk]{
		{Gate{"a head that this log has had", "E-LOG-01", ""}, func(d *decision, in *signHeadAsk) *Refusal {
			if d.f.heads != nil {
				size, root, ok := d.f.heads(in.Frame)
				if ok && size == in.Size && root == in.Root && size > 0 {
					return nil
				}
			}
			return refuse("E-LOG-01")
		}},
		{Gate{"a signature with the floor's key", "E-LOG-02", ""}, func(d *decision, in *signHeadAsk) *Refusal {
			if d.f.Key == "" || in.Log != events.LogName(d.f.ID) || in.Verify(d.f.Key) != nil {
				return refuse("E-LOG-02")
			}
			return nil
		}},
	}, func(d *decision, in *signHeadAsk) {
		if in.Frame > d.f.SignedTo {
			d.follow(&in.HeadSigned)
		}
	}),

	on(rule{Name: "close-day", Who: supervisors}, []gate[closeDayAsk]{
		onlineGate[closeDayAsk](),
		{Gate{"a day that has come", "E-DAY-02", ""}, func(d *decision, in *closeDayAsk) *Refusal {
			today := d.now.Std().Format(time.DateOnly)
			if in.Day == "" {
				in.Day = today
			}
			if in.Day > today {
				return refuse("E-DAY-02", in.Day)
			}
			return nil
		}},
		{Gate{"later than the last that was closed", "E-DAY-01", ""}, func(d *decision, in *closeDayAsk) *Refusal {
			if in.Day <= d.f.Day {
				return again(refuse("E-DAY-01", in.Day))
			}
			return nil
		}},
	}, func(d *decision, in *closeDayAsk) { d.emit(d.f.dayAsItIs(in.Day)) }),
}

// dayAsItIs names what a day leaves open.
func (f *Floor) dayAsItIs(day string) *events.DayClosed {
	out := &events.DayClosed{Day: day, Loads: slices.Sorted(maps.Keys(f.Loads))}
	for code, m := range f.Matters {
		if m.Resolved.IsZero() {
			out.Matters = append(out.Matters, code)
		}
	}
	for code, r := range f.Runs {
		if r.State != RunClosed {
			out.Runs = append(out.Runs, code)
		}
	}
	for code, c := range f.Cartons {
		if slices.Contains(inHand, c.State) {
			out.Cartons = append(out.Cartons, code)
		}
	}
	slices.Sort(out.Matters)
	slices.Sort(out.Runs)
	slices.Sort(out.Cartons)
	return out
}

func (f *Floor) headSigned(e *events.Event, d *events.HeadSigned) error {
	if d.Frame >= e.Seq.Frame {
		return fmt.Errorf("%w: the head after frame %d stands in frame %d", events.ErrCorrupt, d.Frame, e.Seq.Frame)
	}
	f.SignedTo = max(f.SignedTo, d.Frame)
	if d.Frame >= f.DueFrom {
		f.Due = false
	}
	return nil
}

func (f *Floor) dayClosed(e *events.Event, d *events.DayClosed) error {
	f.Day = d.Day
	f.owe(e.Seq)
	return nil
}

// owe asks for a head that covers an event.
func (f *Floor) owe(at events.Seq) { f.Due, f.DueFrom = true, at.Frame }
