package audit

import (
	"fmt"
	"strings"
	"time"

	"packwright/events"
)

// How long a way out of a matter takes. Where this floor has settled enough
// matters that way, it is the middle of those, from when somebody had the matter
// to when it was resolved. Otherwise it is put together: what the hands do, by
// common practice, and the check after it, by the floor's own pace where that is
// known. An estimate that rests on common practice for any part says so.

// chore is work of the hands, by common practice; each: for every unit in the cartons.
type chore struct {
	says  string
	takes time.Duration
	each  bool
}

// choresOf lists the work of each way out, beside its after-check. A way that is
// not here is settled by a command or two.
var choresOf = map[string][]chore{
	"recount":             {},
	"unchanged":           {},
	"amend-plan":          {{"to ask for the change", 2 * time.Minute, false}},
	"send-short":          {{"to ask for the change", 2 * time.Minute, false}},
	"write-off-and-amend": {{"to write off and to ask for the change", 3 * time.Minute, false}},
	"find-and-add":        {{"to search", 10 * time.Minute, false}, {"to place it", time.Minute, false}},
	"find":                {{"to search", 10 * time.Minute, false}},
	"find-label":          {{"to search", 10 * time.Minute, false}},
	"take-out":            {{"to take it out", 2 * time.Minute, false}},
	"remove":              {{"to take it out", 2 * time.Minute, false}},
	"move":                {{"to take it out and place it", 3 * time.Minute, false}},
	"split-carton":        {{"to take pieces out and place them", 5 * time.Minute, false}},
	"reweigh":             {{"to check the scale", 3 * time.Minute, false}},
	"weigh-singly":        {{"to weigh each piece", 10 * time.Second, true}},
	"find-swap":           {{"to take out and weigh each piece", 15 * time.Second, true}},
	"correct-item-weight": {{"to weigh ten of the item", 3 * time.Minute, false}},
	"open-and-count":      {{"to open it", time.Minute, false}},
	"open-and-recount":    {{"to open it", time.Minute, false}},
	"recount-lines":       {},
	"void-marks":          {{"to look at the run's other pieces", 10 * time.Minute, false}},
}

// Common practice where the floor has no pace of its own yet.
const (
	closePractice  = 5 * time.Minute  // from FINISH CARTON to the seal
	answerPractice = 15 * time.Minute // from a change asked to its owner's yes
	leavePractice  = 5 * time.Minute
	settlePractice = 3 * time.Minute
)

// effort is an estimate while it is put together.
type effort struct {
	sum      time.Duration
	says     []string
	practice bool
}

func (e *effort) add(d time.Duration, says string, own bool) {
	e.sum += d
	if own {
		says += ", this floor's pace"
	} else {
		e.practice = true
	}
	e.says = append(e.says, minutesSay(d)+" "+says)
}

// effortOf estimates a way out of a matter.
func (f *Fold) effortOf(m *matter, way events.Resolution) Estimate {
	if g := f.paces.Ways[way.Name]; g != nil {
		if d, ok := g.median(); ok {
			return Estimate{Minutes: upMinutes(d), Basis: fmt.Sprintf("the middle of the last %d settled so here", len(g.List))}
		}
	}
	e := &effort{}
	chores, known := choresOf[way.Name]
	if !known {
		e.add(settlePractice, "to settle it", false)
	}
	units, cartons := f.unitsIn(m)
	for _, c := range chores {
		if c.each {
			e.add(c.takes*time.Duration(units), fmt.Sprintf("%s, %d of them", c.says, units), false)
			continue
		}
		e.add(c.takes, c.says, false)
	}
	f.checkEffort(e, way.Check, cartons)
	basis := strings.Join(e.says, "; ")
	if e.practice {
		basis += "; by common practice where no pace is named"
	}
	return Estimate{Minutes: max(upMinutes(e.sum), 1), Basis: basis, Practice: e.practice}
}

// checkEffort adds what must be in the log before the matter closes.
func (f *Fold) checkEffort(e *effort, check events.Check, cartons int) {
	switch check {
	case events.Recount:
		d, own := f.paces.Close.medianOr(closePractice)
		e.add(d*time.Duration(max(cartons, 1)), "to count, weigh and seal "+plural(max(cartons, 1), "carton"), own)
	case events.AmendedPlan:
		d, own := f.paces.Answer.medianOr(answerPractice)
		e.add(d, "until the change is answered", own)
	case events.Leave:
		e.add(leavePractice, "until leave is given", false)
	}
}

// unitsIn counts the units in the cartons that a matter speaks of, and the cartons.
func (f *Fold) unitsIn(m *matter) (units, cartons int) {
	for _, key := range m.cartons() {
		if v, ok := f.Contents(key); ok {
			units, cartons = units+v.Scanned, cartons+1
		}
	}
	return units, cartons
}

func upMinutes(d time.Duration) int { return int((d + time.Minute - 1) / time.Minute) }

func minutesSay(d time.Duration) string {
	if d < time.Minute {
		return fmt.Sprintf("%d s", int(d.Seconds()))
	}
	return fmt.Sprintf("%d min", upMinutes(d))
}
