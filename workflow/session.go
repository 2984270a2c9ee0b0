package workflow

import (
	"fmt"
	"time"

	"packwright/events"
	"packwright/prep"
)

type joinAsk struct {
	Name string `json:"name"`
}

func (in *joinAsk) check() error {
	if !plainWord(in.Name) {
		return prep.Input(fmt.Sprintf("%q cannot be a station", in.Name), "use letters, digits and hyphens, as in ST-4")
	}
	return nil
}

type signInAsk struct {
	Helps    string `json:"helps"`     // the badge it assists at that badge's bench
	TakeOver bool   `json:"take_over"` // the badge that is there goes
}

type signOutAsk struct {
	Badge string `json:"badge"` // empty: one's own; a supervisor signs out any
	who   *Badge
}

// idleAsk is given by the floor's own clockwork.
type idleAsk struct {
	Name    string `json:"name"`
	station *Station
}

// sessionRules say who works where: one badge at one station, one bench's own
// badge at a time, helpers beside it. The board is an office: any number sign in there.
var sessionRules = []rule{
	on(rule{Name: "join", Who: supervisors, Moves: []Move{{"station", "", "online"}}}, []gate[joinAsk]{
		{Gate{"a name that names nothing else", "E-SES-07", ""}, func(d *decision, in *joinAsk) *Refusal {
			if d.f.Stations[in.Name] == nil && d.f.named(in.Name) {
				return refuse("E-SES-07", in.Name)
			}
			return nil
		}},
	}, func(d *decision, in *joinAsk) {
		if d.f.Stations[in.Name] == nil {
			d.emit(&events.StationJoined{Name: in.Name, Aside: aside(in.Name)})
		}
	}),

	on(rule{Name: "sign-in", Who: roles, Moves: []Move{{"session", "", "active"}}}, []gate[signInAsk]{
		{Gate{"the badge is at no other station", "E-SES-02", ""}, func(d *decision, in *signInAsk) *Refusal {
			if d.badge.Station != "" && d.badge.Station != d.station.Name {
				return refuse("E-SES-02", d.badge.Station)
			}
			return nil
		}},
		{Gate{"who is helped is signed in here", "E-SES-06", ""}, func(d *decision, in *signInAsk) *Refusal {
			if in.Helps != "" && d.station.sessionOf(in.Helps) == "" {
				return refuse("E-SES-06")
			}
			return nil
		}},
		{Gate{"the bench is free, or idle, or a supervisor takes it over", "E-SES-05", ""}, func(d *decision, in *signInAsk) *Refusal {
			if d.badge.Station != "" || !d.replaces(in) || len(d.station.Sessions) == 0 || d.f.idle(d.station, d.now) {
				return nil
			}
			if in.TakeOver && d.may(events.Lead, events.Supervisor, events.Owner) {
				return nil
			}
			return refuse("E-SES-05")
		}},
	}, func(d *decision, in *signInAsk) {
		if d.badge.Station != "" {
			return
		}
		if d.replaces(in) {
			why := "taken-over"
			if d.f.idle(d.station, d.now) {
				why = "idle"
			}
			d.endAll(d.station, why)
		}
		id := fmt.Sprintf("S-%d", d.f.Next.Session+1)
		d.emit(&events.SessionStarted{Session: id, Who: d.badge.Badge, At: d.station.Name, Helps: in.Helps})
	}),

	on(rule{Name: "sign-out", Who: roles, Moves: []Move{{"session", "active", ""}}}, []gate[signOutAsk]{
		{Gate{"one's own badge, or a supervisor", "E-AUT-01", ""}, func(d *decision, in *signOutAsk) *Refusal {
			in.who = d.badge
			if in.Badge != "" && in.Badge != d.badge.Badge {
				if !d.may(events.Supervisor, events.Owner) {
					return refuse("E-AUT-01")
				}
				in.who = d.f.Badges[in.Badge]
			}
			return nil
		}},
		{Gate{"the badge is enrolled", "E-SES-03", ""}, func(d *decision, in *signOutAsk) *Refusal {
			if in.who == nil {
				return refuse("E-SES-03", in.Badge)
			}
			return nil
		}},
	}, func(d *decision, in *signOutAsk) {
		s := d.f.Stations[in.who.Station]
		if s == nil {
			return
		}
		for _, x := range s.Sessions {
			if x.Badge == in.who.Badge {
				d.emit(&events.SessionEnded{Session: x.ID, Who: x.Badge, At: s.Name, Why: "out"})
			}
		}
		for _, x := range s.Sessions {
			if x.Helps == in.who.Badge {
				d.follow(&events.SessionEnded{Session: x.ID, Who: x.Badge, At: s.Name, Why: "out"})
			}
		}
	}),

	on(rule{Name: "idle", Moves: []Move{{"session", "active", ""}}}, []gate[idleAsk]{
		{Gate{"the station has joined", "E-SES-04", ""}, func(d *decision, in *idleAsk) *Refusal {
			if in.station = d.f.Stations[in.Name]; in.station == nil {
				return refuse("E-SES-04", in.Name)
			}
			return nil
		}},
	}, func(d *decision, in *idleAsk) {
		if d.f.idle(in.station, d.now) {
			d.endAll(in.station, "idle")
		}
	}),
}

// replaces says whether a sign-in ends the sessions that are there: a helper
// comes beside, and the board is an office where any number sign in.
func (d *decision) replaces(in *signInAsk) bool {
	return in.Helps == "" && (d.station.Name != Board || in.TakeOver)
}

// endAll ends every session of a station.
func (d *decision) endAll(s *Station, why string) {
	for _, x := range s.Sessions {
		d.follow(&events.SessionEnded{Session: x.ID, Who: x.Badge, At: s.Name, Why: why})
	}
}

// idle says whether nothing was heard of a station for so long that its badge
// is taken to have gone. Hands at work on a run need not scan anything.
func (f *Floor) idle(s *Station, now events.Time) bool {
	for _, r := range f.Runs {
		if r.Station == s.Name && r.State == RunOpen {
			return false
		}
	}
	return f.policy.IdleMinutes > 0 && now.Sub(s.Heard) >= time.Duration(f.policy.IdleMinutes)*time.Minute
}

// named says whether a code is anything's: stations, totes, lots, runs, cartons
// and loads share one space of names.
func (f *Floor) named(code string) bool {
	return f.Stations[code] != nil || f.Totes[code] != nil || f.Lots[code] != nil || f.Runs[code] != nil ||
		f.Cartons[code] != nil || f.Loads[code] != nil || f.Past[code] || f.isAside(code)
}
