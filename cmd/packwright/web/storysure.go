package web

import (
	"fmt"
	"strings"

	"packwright/audit"
)

// sureOfUnit says why it is this piece and no other.
func sureOfUnit(u audit.UnitTrace, t audit.Trace) string {
	if len(u.Prep) == 1 && u.PrepKnown {
		s := fmt.Sprintf("The mark on its label was printed for run %s.", u.Prep[0].Run)
		if u.Carton != "" {
			s = fmt.Sprintf("The mark on its label was printed for run %s and scanned into %s. No other piece fits.", u.Prep[0].Run, u.Carton)
		}
		return s
	}
	return strings.ToUpper(t.Why[:1]) + t.Why[1:] + "."
}

// labelSure tells of a label that is on no piece any more, or never was.
func labelSure(l *audit.LabelTrace, t audit.Trace) *Certainty {
	c := &Certainty{N: max(len(t.Units), 1), Class: "call"}
	switch {
	case l.State == "printed":
		c.Word, c.Prose = "A label on no piece.", "It was printed"+of(l.Printed)+" and never put on one."
	case l.State == "spoiled":
		c.Word, c.Prose = "A label that was spoiled.", "It was printed"+of(l.Printed)+" and torn, misprinted or thrown away."
	default:
		c.Word = "A cancelled label."
		c.Prose = "It was cancelled at " + l.CancelAt.Clock() + "."
		if l.ReplacedBy > 0 {
			c.Prose = fmt.Sprintf("Cancelled at %s. On the same box is now %s, %s%s.", clockOf(l.CancelAt), l.ReplacedBy.Display(), nameOf(l.NowName, l.NowItem), of(l.NowRun))
		}
		switch n := len(l.GoodsNow); {
		case n == 1:
			c.Prose += " Its goods bear " + l.GoodsNow[0].Display() + " now."
		case n > 1:
			c.Word = fmt.Sprintf("One of %d; the log cannot say which.", n)
			c.Prose += fmt.Sprintf(" Its goods bear one of %d marks now.", n)
		default:
			c.Prose += " Its goods bear no mark now."
		}
	}
	return c
}

func of(run string) string {
	if run == "" {
		return ""
	}
	return " of run " + run
}

// sureOfSet says how many pieces fit and why they cannot be fewer.
func sureOfSet(t audit.Trace, marked, before int) *Certainty {
	c := &Certainty{N: t.Size, Class: "call", Word: fmt.Sprintf("One of %d; the log cannot say which.", t.Size), Prose: strings.ToUpper(t.Why[:1]) + t.Why[1:] + "."}
	switch {
	case t.Size == 0:
		c.N, c.Word, c.Class = 1, "No piece of it is on the floor or left it.", "already"
	case t.Size == 1:
		c.Word, c.Class = "One piece, exactly.", "kept"
	case marked > 0 && marked < t.Size:
		c.Word = fmt.Sprintf("%d pieces; %d of them by their marks.", t.Size, marked)
		c.Prose = "The other one has none."
		if n := t.Size - marked; n > 1 {
			c.Prose = fmt.Sprintf("The other %d have none: of these the log cannot say which is which.", n)
		}
	case marked == t.Size:
		c.Word, c.Class = fmt.Sprintf("%d pieces, each by its mark.", t.Size), "kept"
	}
	if before != t.Size {
		c.Prose = "Of your goods alone."
	}
	return c
}

// known lists what the log knows of a piece beside its line of life.
func known(u audit.UnitTrace, client bool) []string {
	var out []string
	for _, p := range u.Prep {
		if p.Rules != "" {
			out = append(out, fmt.Sprintf("The rule then (r%d): %s.", p.RulesRev, p.Rules))
		}
		for _, m := range p.Materials {
			if !client {
				out = append(out, fmt.Sprintf("Its %s came from %s.", m.Material, m.Lot))
			}
		}
	}
	if u.Replaces > 0 {
		out = append(out, fmt.Sprintf("Its box bore %s before.", u.Replaces.Display()))
	}
	for _, m := range u.Inherits {
		out = append(out, fmt.Sprintf("Its goods may have borne %s, which is cancelled.", m.Display()))
	}
	for _, o := range u.TakenOut {
		out = append(out, fmt.Sprintf("It was taken out of %s at %s: %s.", o.Carton, clockOf(o.At), o.Reason))
	}
	if j := u.Journey; j != nil {
		if j.Seal != "" {
			out = append(out, fmt.Sprintf("Seal %s closed %s%s.", j.Seal, j.Carton, seen(j)))
		}
		if j.Weight != nil {
			out = append(out, fmt.Sprintf("%s weighed %s.", j.Carton, gramsOf(j.Weight)))
		}
	}
	return out
}

func seen(j *audit.Journey) string {
	switch j.SealSeen {
	case "":
		return ""
	case j.Seal:
		return ", and was read at the door when it left"
	}
	return ", and " + j.SealSeen + " was read at the door"
}

// unknown lists what nobody can learn from the log.
func unknown(j *audit.Journey) []string {
	out := []string{"How well a step was done: it was confirmed, not measured."}
	if j != nil && !j.SentAt.IsZero() {
		out = append([]string{fmt.Sprintf("Anything after %s: carriage and arrival are not in it.", j.SentAt.Std().Format("15:04:05 on 2 January"))}, out...)
	}
	return out
}

func unknownOfSets(t audit.Trace) []string {
	for _, x := range t.Sets {
		if len(x.Marks) == 0 && x.Q > 1 {
			out := []string{"Which piece of a heap it was: they have no marks."}
			return append(out, unknown(x.Journey)...)
		}
	}
	return unknown(nil)
}

// whereabouts says where the pieces of a set are.
func whereabouts(s audit.Siblings) string {
	var parts []string
	for _, x := range []struct {
		n    int
		word string
	}{{s.Here, "on the floor"}, {s.Sealed, "sealed"}, {s.Dispatched, "have left"}, {s.Elsewhere, "went another way"}} {
		if x.n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", x.n, x.word))
		}
	}
	if len(parts) == 0 {
		return "None of them is anywhere."
	}
	return strings.Join(parts, ", ") + "."
}

// oddsOf says what complaints make of the sets, most telling first.
func oddsOf(sets []audit.Siblings) string {
	best := -1
	for i, s := range sets {
		if s.Odds.Complaints > 0 && (best < 0 || s.Odds.Chance < sets[best].Odds.Chance) {
			best = i
		}
	}
	if best < 0 {
		return "No complaint is known about any piece made beside it."
	}
	s := sets[best]
	return fmt.Sprintf("%d of the %d that share %s %s were complained of. Tested on %d sets, it says: %s.", s.Odds.Complaints, s.N, s.Axis, s.Key, s.Odds.Tested, s.Odds.Says)
}

func gramsOf(w *audit.Weight) string {
	return fmt.Sprintf("%s g, %s g from what was expected, give or take %s g", thin(w.Gross), signed(w.Residual), thin(w.Limit))
}
