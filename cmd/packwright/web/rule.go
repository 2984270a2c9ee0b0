package web

import (
	"time"

	"packwright/events"
)

// Rule is the thin ruler of the day under each head: from half past seven to half
// past six, 110 px an hour, always the same, so that a place on it is a time.
type Rule struct {
	Hours []Tick
	Now   float64 // x of the moment
	Clock string
	Truck *Tick
}

// Tick is one place on the rule.
type Tick struct {
	X    float64
	Text string
}

// Where the rule begins, and how wide an hour is.
const (
	ruleBegins = 7*time.Hour + 30*time.Minute
	ruleEnds   = 18*time.Hour + 30*time.Minute
	hourWidth  = 110
)

// OnRule gives the x of a moment on its day's rule, held to its ends.
func OnRule(t events.Time) float64 {
	s := t.Std()
	midnight := time.Date(s.Year(), s.Month(), s.Day(), 0, 0, 0, 0, s.Location())
	at := min(max(s.Sub(midnight), ruleBegins), ruleEnds)
	return (at - ruleBegins).Hours() * hourWidth
}

// ruleOf draws the rule for the moment of a view, with the next truck as its flag.
func ruleOf(v View) *Rule {
	r := &Rule{Now: OnRule(v.Now), Clock: clockOf(v.Now)}
	for h := 8; h <= 18; h++ {
		r.Hours = append(r.Hours, Tick{X: (time.Duration(h)*time.Hour - ruleBegins).Hours() * hourWidth, Text: time.Date(0, 1, 1, h, 0, 0, 0, time.UTC).Format("15")})
	}
	for _, l := range v.Board(v.Now).Loads {
		if !l.Due.IsZero() && dayOf(l.Due) == dayOf(v.Now) && r.Truck == nil {
			r.Truck = &Tick{OnRule(l.Due), "truck " + clockOf(l.Due)}
		}
	}
	return r
}
