package audit

import (
	"fmt"
	"strconv"
	"strings"

	"packwright/events"
	"packwright/prep"
)

// bench is one station: who is there, and what it last told.
type bench struct {
	Aside   string
	Joined  fact
	Session string
	Badge   name
	Since   stamp
	Seen    events.Time // recorded of its last event
	Quiet   stamp       // last seen, while it is known to be quiet
	Away    []away
	Epochs  []epoch
	Recent  ring  `json:"-"` // saved beside the rows, as lines
	Trail   trail // sessions, quiet and back
}

// away is one time that a bench was not heard of.
type away struct {
	Last, Noted stamp
	Back        stamp
	N           int // commands it brought back
	Oldest      stamp
	Ref         ref
}

// epoch is one outbox of a bench: the command numbers that were kept from it.
type epoch struct {
	Name   string
	Spans  []numbers // rising, apart
	Behind int       // commands that came after a higher number
}

// numbers is an unbroken run of command numbers.
type numbers struct{ From, To uint64 }

// ring keeps a bench's last events.
type ring struct {
	List []events.Event
	Next int
}

const ringSize = 48

func (r *ring) add(e *events.Event) {
	if len(r.List) < ringSize {
		r.List = append(r.List, *e)
		return
	}
	r.List[r.Next] = *e
	r.Next = (r.Next + 1) % ringSize
}

// events gives what the ring holds, oldest first.
func (r *ring) events() []events.Event {
	return append(append([]events.Event(nil), r.List[r.Next:]...), r.List[:r.Next]...)
}

// scale is what was last said of a scale.
type scale struct {
	Checked   fact
	Ref, Read prep.Mass
	OK        bool
}

func (f *Fold) benchOf(key string) *bench { return f.benches.change(f.benches.id(key)) }

// note keeps what the envelope tells, whatever the event.
func (f *Fold) note(e *events.Event) {
	if e.Station != "" {
		b := f.benchOf(e.Station)
		if _, silence := e.Data.(*events.StationQuiet); !silence {
			b.Seen = e.Recorded
		}
		b.Recent.add(e)
	}
	f.number(e.Cause)
	if e.Basis == events.Testimony {
		f.odd.Testimony = append(f.odd.Testimony, told{f.fact(e), stampOf(e.Recorded), e.Type()})
	}
}

// number keeps which command numbers of a bench were kept.
func (f *Fold) number(cause string) {
	station, rest, ok := strings.Cut(cause, "/")
	name, digits, ok2 := strings.Cut(rest, "/")
	n, err := strconv.ParseUint(digits, 10, 64)
	if !ok || !ok2 || err != nil {
		return
	}
	b := f.benchOf(station)
	if k := len(b.Epochs); k > 0 && b.Epochs[k-1].Name == name {
		b.Epochs[k-1].add(n)
		return
	}
	for i := range b.Epochs {
		if b.Epochs[i].Name == name {
			b.Epochs[i].add(n)
			return
		}
	}
	b.Epochs = append(b.Epochs, epoch{Name: name, Spans: []numbers{{n, n}}})
}

// add keeps one number; the usual one follows the last.
func (ep *epoch) add(n uint64) {
	last := len(ep.Spans) - 1
	switch s := &ep.Spans[last]; {
	case n == s.To || n >= s.From && n < s.To:
		return
	case n == s.To+1:
		s.To = n
		return
	case n > s.To:
		ep.Spans = append(ep.Spans, numbers{n, n})
		return
	}
	ep.addBehind(n)
}

// addBehind keeps a number below the highest span.
func (ep *epoch) addBehind(n uint64) {
	i := 0
	for ep.Spans[i].To < n {
		i++
	}
	if ep.Spans[i].From <= n {
		return
	}
	ep.Behind++
	joinsLeft, joinsRight := i > 0 && ep.Spans[i-1].To+1 == n, ep.Spans[i].From == n+1
	switch {
	case joinsLeft && joinsRight:
		ep.Spans[i-1].To = ep.Spans[i].To
		ep.Spans = append(ep.Spans[:i], ep.Spans[i+1:]...)
	case joinsLeft:
		ep.Spans[i-1].To = n
	case joinsRight:
		ep.Spans[i].From = n
	default:
		ep.Spans = append(ep.Spans[:i], append([]numbers{{n, n}}, ep.Spans[i:]...)...)
	}
}

func (f *Fold) stationJoined(e *events.Event, d *events.StationJoined) error {
	b := f.benchOf(d.Name)
	b.Aside, b.Joined = d.Aside, f.fact(e)
	b.Trail.add(e.Seq.Frame)
	return nil
}

func (f *Fold) sessionStarted(e *events.Event, d *events.SessionStarted) error {
	b := f.benchOf(d.At)
	b.Trail.add(e.Seq.Frame)
	f.badgeOf(d.Who).Trail.add(e.Seq.Frame)
	if d.Helps == "" {
		b.Session, b.Badge, b.Since = d.Session, f.names.id(d.Who), stampOf(e.At)
	}
	return nil
}

func (f *Fold) sessionEnded(e *events.Event, d *events.SessionEnded) error {
	b := f.benches.changeOf(d.At)
	if b == nil {
		return fmt.Errorf("there is no bench %q", d.At)
	}
	b.Trail.add(e.Seq.Frame)
	f.badgeOf(d.Who).Trail.add(e.Seq.Frame)
	if b.Session == d.Session {
		b.Session, b.Badge, b.Since = "", 0, 0
	}
	return nil
}

func (f *Fold) stationQuiet(e *events.Event, d *events.StationQuiet) error {
	b := f.benchOf(d.Name)
	b.Quiet = stampOf(d.LastSeen)
	b.Away = append(b.Away, away{Last: b.Quiet, Noted: stampOf(e.Recorded), Ref: refOf(e.Seq)})
	b.Trail.add(e.Seq.Frame)
	return nil
}

func (f *Fold) stationCaughtUp(e *events.Event, d *events.StationCaughtUp) error {
	b := f.benchOf(d.Name)
	b.Quiet = 0
	b.Trail.add(e.Seq.Frame)
	if n := len(b.Away); n == 0 || b.Away[n-1].Back != 0 {
		b.Away = append(b.Away, away{Last: stampOf(d.Oldest), Ref: refOf(e.Seq)})
	}
	a := &b.Away[len(b.Away)-1]
	a.Back, a.N, a.Oldest = stampOf(e.Recorded), d.N, stampOf(d.Oldest)
	return nil
}

func (f *Fold) clockSkewNoted(e *events.Event, d *events.ClockSkewNoted) error {
	f.odd.Skews = append(f.odd.Skews, skew{f.fact(e), d.Name, d.SkewMS})
	return nil
}

func (f *Fold) scaleChecked(e *events.Event, d *events.ScaleChecked) error {
	f.scales[d.Scale] = &scale{f.fact(e), d.Ref, d.Read, d.OK}
	if !d.OK {
		f.odd.Scales = append(f.odd.Scales, badScale{f.fact(e), d.Scale, d.Ref, d.Read})
	}
	return nil
}

func (f *Fold) scanRefused(e *events.Event, d *events.ScanRefused) error {
	f.odd.Refused = append(f.odd.Refused, refused{f.fact(e), d.Error, d.Class, d.Carton})
	if c := f.cartons.changeOf(d.Carton); c != nil {
		c.Trail.add(e.Seq.Frame)
	}
	return nil
}

func (f *Fold) lateReported(e *events.Event, d *events.LateReported) error {
	f.odd.Late = append(f.odd.Late, late{f.fact(e), stampOf(e.Recorded), d.Command, d.Error, d.Text, d.Carton})
	if c := f.cartons.changeOf(d.Carton); c != nil {
		c.Late = append(c.Late, refOf(e.Seq))
		c.Trail.add(e.Seq.Frame)
	}
	return nil
}

func (f *Fold) actionTakenBack(e *events.Event, d *events.ActionTakenBack) error {
	f.odd.TakenBack = append(f.odd.TakenBack, takenBack{f.fact(e), refOf(d.Seq), d.Reason})
	return nil
}

func (f *Fold) overrideGranted(e *events.Event, d *events.OverrideGranted) error {
	f.odd.Overrides = append(f.odd.Overrides, override{Fact: f.fact(e), Key: d.Override, Scope: d.Scope, Gate: d.Gate, Reason: d.Reason,
		Text: d.Text, Expires: stampOf(d.Expires), Second: d.Second})
	return nil
}
