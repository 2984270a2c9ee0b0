package web

import (
	"fmt"
	"slices"
	"strings"

	"packwright/audit"
	"packwright/events"
)

// factsOf tells what was done to the pieces that a trace names, and what nobody
// can know.
func factsOf(v View, t audit.Trace) (facts []claimFact, unknown []string) {
	if l := t.Label; l != nil && l.State == "cancelled" {
		says := fmt.Sprintf("%s was cancelled %s: %s", l.Mark.Display(), clockOf(l.CancelAt), l.Reason)
		if l.ReplacedBy > 0 {
			says += fmt.Sprintf("; %s took its place", l.ReplacedBy.Display())
		}
		facts = append(facts, claimFact{"label", says})
	}
	var lots []string
	left := false
	for _, u := range t.Units {
		facts = append(facts, unitFacts(u)...)
		left = left || u.Stage == events.Dispatched
		if !u.PrepKnown {
			unknown = append(unknown, fmt.Sprintf("which of %d cancelled marks %s bore before", len(u.Inherits), u.Mark.Display()))
		}
		if !slices.Contains(lots, u.Lot) {
			lots = append(lots, u.Lot)
		}
	}
	if len(t.Units) == 0 {
		for _, s := range t.Sets {
			facts = append(facts, setFacts(s)...)
			left = left || s.Stage == events.Dispatched
			if !slices.Contains(lots, s.Lot) {
				lots = append(lots, s.Lot)
			}
		}
	}
	facts = append(facts, intakeFacts(v, lots)...)
	if t.Size > 1 {
		unknown = append(unknown, fmt.Sprintf("which of the %d it is", t.Size))
	}
	if left {
		unknown = append(unknown, "what happened to it after it left")
	}
	return facts, append(unknown, "how it looked when it came and when it left: the log keeps verdicts, no pictures")
}

// unitFacts is the life of one marked piece.
func unitFacts(u audit.UnitTrace) []claimFact {
	name := u.Item
	if u.Name != "" {
		name = u.Name + " (" + u.Item + ")"
	}
	out := []claimFact{{"piece", fmt.Sprintf("%s, %s, lot %s; now %s", u.Mark.Display(), name, u.Lot, u.Stage)}}
	for _, p := range u.Prep {
		out = append(out, prepFacts(p)...)
	}
	for _, o := range u.TakenOut {
		out = append(out, claimFact{"taken out", fmt.Sprintf("of %s %s: %s", o.Carton, clockOf(o.At), o.Reason)})
	}
	if u.Carton != "" {
		out = append(out, claimFact{"carton", fmt.Sprintf("placed in %s %s by %s", u.Carton, clockOf(u.PlacedAt), u.PlacedBy)})
	}
	return append(out, journeyFacts(u.Journey)...)
}

// setFacts is what is known of pieces that look alike.
func setFacts(s audit.SetTrace) []claimFact {
	out := []claimFact{{"pieces", fmt.Sprintf("%d of %s, lot %s, %s", s.Q, s.Item, s.Lot, s.Stage)}}
	if len(s.Runs) > 1 {
		var runs []string
		for _, r := range s.Runs {
			runs = append(runs, fmt.Sprintf("%s (made %d)", r.Run, r.Made))
		}
		out = append(out, claimFact{"runs", "one of " + strings.Join(runs, ", ")})
	}
	for _, p := range s.Prep {
		out = append(out, prepFacts(p)...)
	}
	return append(out, journeyFacts(s.Journey)...)
}

// prepFacts is by which rule, of what material and through whose hands.
func prepFacts(p audit.PrepTrace) []claimFact {
	if p.Run == "" {
		return []claimFact{{"made ready", "in which run is not known"}}
	}
	done := fmt.Sprintf("run %s at %s by %s", p.Run, p.Station, p.Badge)
	if p.Unit > 0 {
		done = fmt.Sprintf("run %s, piece %d, at %s by %s", p.Run, p.Unit, p.Station, p.Badge)
	}
	if !p.At.IsZero() {
		done += ", " + dayOf(p.At) + " " + p.At.Std().Format("15:04:05")
	}
	rule := fmt.Sprintf("r%d, recipe %s", p.RulesRev, p.Recipe)
	if p.Rules != "" {
		rule += ": " + p.Rules
	}
	out := []claimFact{{"made ready", done}, {"by which rule", rule}}
	var of []string
	for _, m := range p.Materials {
		of = append(of, fmt.Sprintf("%s from %s", m.Material, m.Lot))
	}
	if len(of) > 0 {
		out = append(out, claimFact{"with what", strings.Join(of, ", ")})
	}
	return out
}

// journeyFacts is the carton's part.
func journeyFacts(j *audit.Journey) []claimFact {
	if j == nil {
		return nil
	}
	var out []claimFact
	if !j.CountAt.IsZero() {
		out = append(out, claimFact{"counted", fmt.Sprintf("%s, blind, %s by %s", j.Carton, j.CountAt.Std().Format("15:04:05"), j.CountBy)})
	}
	if w := j.Weight; w != nil && w.Known {
		out = append(out, claimFact{"weighed", fmt.Sprintf("%s g, expected %s ± %s g", thin(w.Gross), thin(w.Mean), thin(w.SD))})
	}
	if j.Seal != "" {
		out = append(out, claimFact{"sealed", fmt.Sprintf("%s with %s, %s", j.Carton, j.Seal, clockOf(j.SealedAt))})
	}
	if j.Load != "" {
		out = append(out, claimFact{"left", fmt.Sprintf("on %s, %s %s; seal %s was seen", j.Load, dayOf(j.SentAt), clockOf(j.SentAt), j.SealSeen)})
	}
	return out
}

// intakeFacts is what was seen when the lots came.
func intakeFacts(v View, lots []string) []claimFact {
	var out []claimFact
	for _, b := range v.Balances() {
		if !slices.Contains(lots, b.Lot) {
			continue
		}
		says := fmt.Sprintf("lot %s of %s: %d announced, %d came", b.Lot, b.Item, b.Announced, b.Received)
		aside := 0
		for _, s := range []events.Stage{events.Held, events.Diverted, events.WrittenOff} {
			if n := b.At[s]; n > 0 {
				says += fmt.Sprintf(", %d %s", n, s)
				aside += n
			}
		}
		if aside == 0 {
			says += "; none was set aside"
		}
		out = append(out, claimFact{"at intake", says + "; what went on to be made ready was found fit for it"})
	}
	return out
}
