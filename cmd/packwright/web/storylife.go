package web

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"packwright/audit"
	"packwright/events"
)

// Life is a line from lot to load. It grows thicker at each stage.
type Life struct {
	Name  string
	Says  string // all of it as a sentence
	Stops []Stop
	Segs  []Stretch // between stops, thicker and thicker; Name is the stroke's width
	Gone  bool      // it ends in an arrow: it has left
	High  float64
	Line  float64 // y of the line
	Notes []string
	Day   string // of all stops, when they are of one day; the line is its rule then
}

// Stop is one moment of a life.
type Stop struct {
	X, Y  float64 // of the words; the line is below
	At    events.Time
	What  string
	Who   string // bench and badge
	More  string
	Clock string
	End   bool // the words end here: the line's last stop, near its border
	wide  float64
}

// sealsSoon is how soon after the count a seal is told in one breath with it.
const sealsSoon = 20 * time.Minute

// Where a life is drawn.
const (
	lifeWide    = 1216
	lifeRow     = 66 // height of a row of words
	lifeLetter  = 7.6
	lifeMargin  = 12
	lifeSpreads = 190 // between two stops that are not of one day
)

// lifeOfUnit tells of one marked piece.
func lifeOfUnit(v View, u audit.UnitTrace, client bool) Life {
	l := Life{Name: u.Mark.Display()}
	l.lot(v, u.Lot)
	for _, p := range u.Prep {
		l.prep(p, len(u.Prep) > 1, client)
	}
	if !u.PlacedAt.IsZero() {
		who := u.PlacedBy
		if client {
			who = ""
		}
		l.add(Stop{At: u.PlacedAt, What: "placed in " + orSome(u.Carton), Who: who})
	}
	l.journey(u.Journey, client)
	if u.Journey == nil || u.Journey.SentAt.IsZero() {
		l.Notes = append(l.Notes, fmt.Sprintf("Now %s%s.", u.Stage, in(u.Place)))
	}
	l.lay()
	return l
}

// lifeOfSet tells of pieces that share a past.
func lifeOfSet(v View, s audit.SetTrace, client bool) Life {
	l := Life{Name: fmt.Sprintf("%s of %s, lot %s", pieces(s.Q), s.Item, s.Lot)}
	l.lot(v, s.Lot)
	switch n := len(s.Prep); {
	case n == 1:
		l.prep(s.Prep[0], false, client)
	case n > 1:
		var runs []string
		for _, p := range s.Prep {
			runs = append(runs, p.Run)
		}
		l.prep(s.Prep[0], true, client)
		l.Notes = append(l.Notes, "They may be of any of the runs "+strings.Join(runs, ", ")+".")
	case len(s.Runs) > 0:
		l.Notes = append(l.Notes, "Made by run "+runNames(s.Runs)+".")
	}
	if s.Journey != nil && !s.First.IsZero() {
		stop := Stop{At: s.First, What: "placed in " + s.Journey.Carton}
		if s.Last.After(s.First) {
			stop.More = "until " + s.Last.Std().Format("15:04:05")
		}
		l.add(stop)
	}
	l.journey(s.Journey, client)
	if s.Journey == nil || s.Journey.SentAt.IsZero() {
		l.Notes = append(l.Notes, fmt.Sprintf("Now %s%s.", s.Stage, in(s.Place)))
	}
	l.lay()
	return l
}

func runNames(list []audit.RunShare) string {
	var out []string
	for _, r := range list {
		out = append(out, r.Run)
	}
	return strings.Join(out, ", ")
}

func in(place string) string {
	if place == "" {
		return ""
	}
	return ", in " + place
}

func orSome(carton string) string {
	if carton == "" {
		return "a carton"
	}
	return carton
}

func (l *Life) add(s Stop) { l.Stops = append(l.Stops, s) }

func (l *Life) lot(v View, key string) {
	lot, err := v.Lot(key)
	if err != nil || lot.At.IsZero() {
		return
	}
	s := Stop{At: lot.At, What: "received", Who: "lot " + key, More: fmt.Sprintf("%d in it", lot.Received)}
	if len(lot.Of) > 0 {
		s.What, s.More = "built", "from "+strings.Join(lot.Of, ", ")
	}
	l.add(s)
}

func (l *Life) prep(p audit.PrepTrace, several, client bool) {
	if p.Run == "" {
		l.Notes = append(l.Notes, "Who made it ready is not known.")
		return
	}
	s := Stop{At: p.At, What: "made ready", Who: strings.TrimSpace(p.Badge + " at " + p.Station), More: fmt.Sprintf("run %s, rules r%d", p.Run, p.RulesRev)}
	if client {
		s.Who = "bench " + p.Station
	}
	if several {
		s.What = "made ready, perhaps"
	}
	if s.At.IsZero() {
		l.Notes = append(l.Notes, fmt.Sprintf("Made ready in run %s by %s under rules r%d.", p.Run, s.Who, p.RulesRev))
		return
	}
	l.add(s)
}

func (l *Life) journey(j *audit.Journey, client bool) {
	if j == nil {
		return
	}
	together := j.Seal != "" && !j.CountAt.IsZero() && j.SealedAt.Sub(j.CountAt) < sealsSoon
	if !j.CountAt.IsZero() {
		s := Stop{At: j.CountAt, What: "counted", Who: j.CountBy}
		if client {
			s.Who = ""
		}
		if together {
			s.What, s.More = "counted, sealed", fmt.Sprintf("%s, seal %s", j.SealedAt.Std().Format("15:04:05"), j.Seal)
		}
		l.add(s)
	}
	if j.Seal != "" && !together {
		l.add(Stop{At: j.SealedAt, What: "sealed", More: "seal " + j.Seal})
	}
	if !j.SentAt.IsZero() {
		l.Gone = true
		l.add(Stop{At: j.SentAt, What: "left", Who: "load " + j.Load})
	}
}

// lay puts the stops on the rule of their day, or evenly when they are of several
// days, and their words in rows so that none runs into another.
func (l *Life) lay() {
	slices.SortStableFunc(l.Stops, func(a, b Stop) int { return a.At.Std().Compare(b.At.Std()) })
	if len(l.Stops) == 0 {
		return
	}
	l.Day = dayOf(l.Stops[0].At)
	for _, s := range l.Stops {
		if dayOf(s.At) != l.Day {
			l.Day = ""
		}
	}
	var ends []float64 // of each row of words
	for i := range l.Stops {
		s := &l.Stops[i]
		s.X = float64(i) * lifeSpreads
		s.Clock = s.At.Std().Format("2 January 15:04:05")
		if l.Day != "" {
			s.X, s.Clock = OnRule(s.At), s.At.Std().Format("15:04:05")
		}
		s.wide = lifeLetter*float64(max(len(s.What)+2, len(s.Who), len(s.More), len(s.Clock))) + lifeMargin
		left, right := s.X, s.X+s.wide
		if s.End = right > lifeWide; s.End {
			left, right = s.X-s.wide, s.X
		}
		row := slices.IndexFunc(ends, func(end float64) bool { return end <= left })
		if row < 0 {
			ends, row = append(ends, 0), len(ends)
		}
		ends[row], s.Y = right, float64(row)
	}
	rows := float64(len(ends))
	l.Line = rows*(lifeRow+14) + 8
	l.High = l.Line + 16
	for i := range l.Stops {
		l.Stops[i].Y = (rows-1-l.Stops[i].Y)*(lifeRow+14) + 16
	}
	l.segments()
	l.Says = l.sentence()
}

// segments are the line between the stops.
func (l *Life) segments() {
	wide := []string{"2", "5", "9", "13", "17"}
	for i := 0; i+1 < len(l.Stops); i++ {
		l.Segs = append(l.Segs, Stretch{Name: wide[min(i, len(wide)-1)], X1: l.Stops[i].X, X2: l.Stops[i+1].X})
	}
}

func (l *Life) sentence() string {
	var parts []string
	for _, s := range l.Stops {
		parts = append(parts, strings.Join(slices.DeleteFunc([]string{s.What, s.Clock, s.Who, s.More}, func(x string) bool { return x == "" }), " "))
	}
	return l.Name + ": " + strings.Join(parts, "; ")
}
