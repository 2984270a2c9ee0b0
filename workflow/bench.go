package workflow

import (
	"fmt"
	"time"

	"packwright/events"
	"packwright/prep"
)

// quietAsk is given by the floor's own clockwork. LastSeen is when the bench's
// door last heard of it, which may be later than its last command.
type quietAsk struct {
	Name     string      `json:"name"`
	LastSeen events.Time `json:"last_seen"`
	station  *Station
}

// caughtUpAsk is given by a bench after it has sent what it kept while away.
type caughtUpAsk struct {
	N      int         `json:"n"`
	Oldest events.Time `json:"oldest_at"`
	Newest events.Time `json:"newest_at"`
}

// skewAsk is given by a bench's door: its clock less the writer's.
type skewAsk struct {
	SkewMS int64 `json:"skew_ms"`
}

func (in *caughtUpAsk) check() error {
	if in.N < 0 || in.N > 0 && (in.Oldest.IsZero() || in.Newest.Before(in.Oldest)) {
		return prep.Input("a bench catches up with commands and their times", "give n, oldest_at and newest_at")
	}
	return nil
}

// skewNoted is the difference of clocks that is worth a line in the log, and
// the change of it that is worth another.
const skewNoted = 120 * time.Second

// benchRules are what benches do that moves no goods: sessions first.
var benchRules = append(sessionRules,
	on(rule{Name: "quiet", Moves: []Move{{"station", "online", "quiet"}}}, []gate[quietAsk]{
		{Gate{"the station has joined", "E-SES-04", ""}, func(d *decision, in *quietAsk) *Refusal {
			if in.station = d.f.Stations[in.Name]; in.station == nil {
				return refuse("E-SES-04", in.Name)
			}
			return nil
		}},
	}, silence),

	on(rule{Name: "caught-up", Moves: []Move{{"station", "quiet", "online"}}}, []gate[caughtUpAsk]{
		{Gate{"the station has joined", "E-SES-04", ""}, func(d *decision, in *caughtUpAsk) *Refusal {
			return d.joined()
		}},
	}, func(d *decision, in *caughtUpAsk) {
		if in.N > 0 || d.station.Quiet {
			d.emit(&events.StationCaughtUp{Name: d.station.Name, N: in.N, Oldest: in.Oldest, Newest: in.Newest})
		}
	}),

	on(rule{Name: "clock-skew"}, []gate[skewAsk]{
		{Gate{"the station has joined", "E-SES-04", ""}, func(d *decision, in *skewAsk) *Refusal {
			return d.joined()
		}},
	}, func(d *decision, in *skewAsk) {
		was, is := time.Duration(d.station.SkewMS)*time.Millisecond, time.Duration(in.SkewMS)*time.Millisecond
		far := is.Abs() > skewNoted && (is-was).Abs() > skewNoted/2
		right := is.Abs() <= skewNoted && was != 0
		if far || right {
			d.emit(&events.ClockSkewNoted{Name: d.station.Name, SkewMS: in.SkewMS})
		}
	}),

	takeBackRule,
)

// joined refuses a station that has not joined.
func (d *decision) joined() *Refusal {
	if d.station == nil {
		return refuse("E-SES-04", d.id.Station)
	}
	return nil
}

// silence notes once that a bench with open work is silent, and raises the
// matter once when that lasts: someone must go and look, and perhaps hand over.
func silence(d *decision, in *quietAsk) {
	s := in.station
	seen := events.Max(s.Heard, in.LastSeen)
	mute, limit := d.now.Sub(seen), func(minutes int) time.Duration { return time.Duration(minutes) * time.Minute }
	if !d.f.busy(s.Name) {
		return
	}
	if !s.Quiet && mute >= limit(d.f.policy.QuietMinutes) {
		d.emit(&events.StationQuiet{Name: s.Name, LastSeen: seen})
	}
	if d.f.policy.QuietCall > 0 && mute >= limit(d.f.policy.QuietCall) && !d.f.mute(s.Name) {
		scope := events.Scope{Station: s.Name}
		d.raise(events.Quiet, scope, events.Evidence{}, false)
		d.calls("E-SES-08", s.Name, fmt.Sprintf("%d min", int(mute.Minutes())))
	}
}

// mute says whether the silence of a station is an open matter already.
func (f *Floor) mute(station string) bool {
	for _, m := range f.Matters {
		if m.Resolved.IsZero() && m.Kinds[0] == events.Quiet && m.Scopes[0].Station == station {
			return true
		}
	}
	return false
}

// busy says whether a station has a run or a carton in hand.
func (f *Floor) busy(station string) bool {
	for _, r := range f.Runs {
		if r.Station == station && r.State == RunOpen {
			return true
		}
	}
	for _, c := range f.Cartons {
		if c.Bench == station && (c.State == CartonOpen || c.State == CartonCounting) {
			return true
		}
	}
	return false
}
