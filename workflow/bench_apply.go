package workflow

import (
	"slices"

	"packwright/events"
)

func (f *Floor) stationJoined(e *events.Event, d *events.StationJoined) error {
	if f.Stations[d.Name] == nil { // the board is there from the first event
		f.Stations[d.Name] = newStation(d.Name)
	}
	f.Stations[d.Name].Aside, f.Stations[d.Name].Heard = d.Aside, e.Recorded
	return nil
}

func newStation(name string) *Station {
	return &Station{Name: name, Epochs: map[string]*KeptNumbers{}, Refused: map[Code]events.Time{}}
}

func (f *Floor) sessionStarted(e *events.Event, d *events.SessionStarted) error {
	s, b := f.Stations[d.At], f.Badges[d.Who]
	if s == nil || b == nil {
		return unplaced("session", d.Session)
	}
	x := Session{ID: d.Session, Badge: d.Who, Helps: d.Helps}
	if d.Helps == "" {
		s.Sessions = slices.Insert(s.Sessions, 0, x)
	} else {
		s.Sessions = append(s.Sessions, x)
	}
	b.Station = d.At
	f.Next.Session++
	return nil
}

func (f *Floor) sessionEnded(e *events.Event, d *events.SessionEnded) error {
	s, b := f.Stations[d.At], f.Badges[d.Who]
	if s == nil || b == nil {
		return unplaced("session", d.Session)
	}
	s.Sessions = slices.DeleteFunc(s.Sessions, func(x Session) bool { return x.ID == d.Session })
	b.Station = ""
	return nil
}

func (f *Floor) stationQuiet(e *events.Event, d *events.StationQuiet) error {
	s := f.Stations[d.Name]
	if s == nil {
		return unplaced("station", d.Name)
	}
	s.Quiet = true
	return nil
}

func (f *Floor) stationCaughtUp(e *events.Event, d *events.StationCaughtUp) error {
	s := f.Stations[d.Name]
	if s == nil {
		return unplaced("station", d.Name)
	}
	s.Heard, s.Quiet = e.Recorded, false
	return nil
}

func (f *Floor) clockSkewNoted(e *events.Event, d *events.ClockSkewNoted) error {
	s := f.Stations[d.Name]
	if s == nil {
		return unplaced("station", d.Name)
	}
	s.SkewMS = d.SkewMS
	if ms := s.SkewMS; ms <= skewNoted.Milliseconds() && -ms <= skewNoted.Milliseconds() {
		s.SkewMS = 0
	}
	return nil
}

// scanRefused remembers when this refusal was last written, so that a code held
// before the reader does not fill the log.
func (f *Floor) scanRefused(e *events.Event, d *events.ScanRefused) error {
	s := f.Stations[e.Station]
	if s == nil {
		return unplaced("station", e.Station)
	}
	if s.Refused == nil { // read from a snapshot
		s.Refused = map[Code]events.Time{}
	}
	s.Refused[Code(d.Error)] = e.Recorded
	return nil
}

// lateReported moves nothing: the matter raised beside it does the rest.
func (f *Floor) lateReported(e *events.Event, d *events.LateReported) error { return nil }

func (f *Floor) actionTakenBack(e *events.Event, d *events.ActionTakenBack) error {
	s := f.Stations[e.Station]
	if s == nil {
		return unplaced("station", e.Station)
	}
	for i := range s.Recent {
		if s.Recent[i].Seq == d.Seq {
			s.Recent[i].Taken = true
		}
	}
	return nil
}
