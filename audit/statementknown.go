package audit

import (
	"fmt"
	"strings"

	"packwright/events"
)

// known is the life of one marked unit, in sentences.
func (u UnitTrace) known() []Known {
	out := []Known{{"unit", fmt.Sprintf("%s, %s, lot %s; now %s", u.Mark, firstOf(u.Name, u.Item), u.Lot, u.Stage)}}
	for _, p := range u.Prep {
		out = append(out, p.known()...)
	}
	if u.Replaces > 0 {
		out = append(out, Known{"label", fmt.Sprintf("it replaced %s on the box", u.Replaces)})
	}
	for _, o := range u.TakenOut {
		out = append(out, Known{"taken out", fmt.Sprintf("of %s %s: %s", o.Carton, clock(o.At), o.Reason)})
	}
	if u.Carton != "" {
		out = append(out, Known{"placed", fmt.Sprintf("in %s %s%s", u.Carton, clock(u.PlacedAt), byWhom(u.PlacedBy))})
	}
	return append(out, u.Journey.known()...)
}

// known is what is known of units that look alike.
func (s SetTrace) known() []Known {
	out := []Known{{"units", fmt.Sprintf("%d of %s, lot %s, %s", s.Q, s.Item, s.Lot, s.Stage)}}
	if len(s.Runs) > 1 {
		var runs []string
		for _, r := range s.Runs {
			runs = append(runs, fmt.Sprintf("%s (made %d)", r.Run, r.Made))
		}
		out = append(out, Known{"runs", "of " + strings.Join(runs, ", ") + "; which is not known"})
	}
	for _, p := range s.Prep {
		out = append(out, p.known()...)
	}
	if s.Place != "" && !s.First.IsZero() {
		out = append(out, Known{"placed", fmt.Sprintf("in %s, from %s to %s", s.Place, clock(s.First), clock(s.Last))})
	}
	return append(out, s.Journey.known()...)
}

// known says by which rule a unit was made ready, of which rolls, by which hands.
func (p PrepTrace) known() []Known {
	if p.Run == "" {
		return []Known{{"made ready", "in which run is not known"}}
	}
	hands := fmt.Sprintf("run %s", p.Run)
	if p.Unit > 0 {
		hands += fmt.Sprintf(", unit %d", p.Unit)
	}
	hands += fmt.Sprintf(", at %s by badge %s", p.Station, p.Badge)
	if !p.At.IsZero() {
		hands += ", " + dayText(p.At) + " " + clock(p.At)
	}
	out := []Known{{"made ready", hands}, {"by which rule", fmt.Sprintf("r%d, recipe %s", p.RulesRev, p.Recipe) + suffix(": ", p.Rules)}}
	for _, m := range p.Materials {
		out = append(out, Known{"from which roll", m.Material + ", lot " + m.Lot})
	}
	return out
}

// known is the carton's part.
func (j *Journey) known() []Known {
	if j == nil {
		return nil
	}
	var out []Known
	for _, r := range j.Reopened {
		out = append(out, Known{"reopened", r.words()})
	}
	for _, o := range j.Told {
		out = append(out, Known{"told later", o.words()})
	}
	if !j.CountAt.IsZero() {
		out = append(out, Known{"counted", fmt.Sprintf("%s, blind, %s%s", j.Carton, clock(j.CountAt), byWhom(j.CountBy))})
	}
	if w := j.Weight; w != nil && w.Known {
		out = append(out, Known{"weighed", fmt.Sprintf("%s; expected %s ± %s, z %+.1f", grams(w.Gross), grams(w.Mean), grams(w.SD), w.Z.Float())})
	}
	if j.Seal != "" {
		out = append(out, Known{"sealed", fmt.Sprintf("%s with seal %s, %s %s", j.Carton, j.Seal, dayText(j.SealedAt), clock(j.SealedAt))})
	}
	if j.Load != "" {
		out = append(out, Known{"left", fmt.Sprintf("on %s, %s %s; seal %s was seen", j.Load, dayText(j.SentAt), clock(j.SentAt), j.SealSeen)})
	}
	return out
}

// seenAt is what triage said of some units of a lot.
type seenAt struct {
	Q                              int
	Verdict, Grade, Arrival, Cause name
}

// saw keeps a verdict of triage with the lot.
func (f *Fold) saw(l *lot, d *events.UnitsTriaged) {
	x := seenAt{0, f.names.id(string(d.Verdict)), f.names.id(d.Grade), f.names.id(d.Arrival), f.names.id(d.Reason)}
	for i := range l.Seen {
		if o := &l.Seen[i]; o.Verdict == x.Verdict && o.Grade == x.Grade && o.Arrival == x.Arrival && o.Cause == x.Cause {
			o.Q += d.Q
			return
		}
	}
	x.Q = d.Q
	l.Seen = append(l.Seen, x)
}

// intakeKnown says what was seen when a lot came.
func (f *Fold) intakeKnown(key string) Known {
	l := f.lots.get(key)
	if l == nil {
		return Known{key, "not known"}
	}
	says := fmt.Sprintf("%s: %d announced, %d received", f.names.text(l.Item), l.Announced, l.Received)
	if len(l.Parts) > 0 {
		says = fmt.Sprintf("%s: built here, %d of them", f.names.text(l.Item), l.Received)
	}
	for _, x := range l.Seen {
		says += fmt.Sprintf("; %d found fit for %s", x.Q, f.names.text(x.Verdict))
		for _, more := range []struct {
			before string
			of     name
		}{{", grade ", x.Grade}, {", came ", x.Arrival}, {": ", x.Cause}} {
			says += suffix(more.before, f.names.text(more.of))
		}
	}
	if len(l.Seen) == 0 && len(l.Parts) == 0 {
		says += "; no verdict of triage"
	}
	return Known{"lot " + key, says}
}

// dayText writes the day of a moment, where it was: "2031-03-04".
func dayText(t events.Time) string {
	if t.IsZero() {
		return "on a day not kept"
	}
	return t.Std().Format("2006-01-02")
}
