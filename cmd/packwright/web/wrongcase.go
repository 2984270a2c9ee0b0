package web

import (
	"fmt"
	"math"
	"strings"

	"packwright/audit"
	"packwright/prep"
)

// Evidence is one of the four numbers of a carton.
type Evidence struct {
	Word   string
	Source string // where it is from
	Value  string // empty: not known yet
	Unit   string
	Class  string // "", off: it disagrees, wait: not there yet
	Draw   *Strokes
	Gauge  *Gauge
	Says   string
}

// Case is one carton of a matter: its four numbers and what explains them.
type Case struct {
	Carton  string
	Link    string
	Reading string
	Power   string
	Says    string
	Four    []Evidence
	Causes  []CauseRow
	Curves  *Curves
	Lines   []audit.ContentLine
}

// CauseRow is one explanation with its two bars.
type CauseRow struct {
	Text     string
	Predicts string
	Alone    Bar
	Both     Bar
	NoCount  bool
}

// Bar is a chance, drawn on 220 px.
type Bar struct {
	W    float64
	Text string
}

const barWide = 220

// chanceBar draws a chance; what would read 0.00 is ruled out.
func chanceBar(p prep.Fixed, out bool) Bar {
	switch f := p.Float(); {
	case out || f < 0.005:
		return Bar{0, "ruled out"}
	case f >= 0.995:
		return Bar{barWide, "≈ 1.00"}
	default:
		return Bar{math.Round(f * barWide), fmt.Sprintf("%.2f", f)}
	}
}

// names are the items' names by their codes.
type names map[string]string

func namesOf(v View) names {
	out := names{}
	for _, it := range v.Items() {
		out[it.Item] = it.Name
	}
	return out
}

func (n names) of(item string) string {
	if s := n[item]; s != "" {
		return s
	}
	return item
}

// caseOf draws one carton.
func caseOf(c audit.Contents, reading string, x audit.Explained, n names) Case {
	k := Case{Carton: c.Carton, Link: "/wrong/" + c.Carton, Reading: reading, Power: x.Power, Says: x.Says, Lines: c.Lines}
	k.Four = []Evidence{plannedOf(c, n), scannedOf(c, n), countedOf(c), weighedOf(c)}
	if off := c.Weight != nil && c.Weight.Alarm || c.Counted != nil && *c.Counted != c.Scanned; off {
		for _, e := range x.Ranked {
			k.Causes = append(k.Causes, causeRow(e, c, n))
		}
		k.Curves = curvesOf(c, x, n)
	}
	return k
}

func plannedOf(c audit.Contents, n names) Evidence {
	var g []Pieces
	var of []string
	for _, l := range c.Lines {
		if l.Planned > 0 {
			g = append(g, Pieces{There: l.Planned})
			of = append(of, fmt.Sprintf("%d %s", l.Planned, n.of(l.Item)))
		}
	}
	s := strokesOf(g)
	e := Evidence{Word: "planned", Value: fmt.Sprint(c.Planned), Draw: &s, Says: strings.Join(of, ", ")}
	if c.Plan != "" {
		e.Source = fmt.Sprintf("%s r%d", c.Plan, c.PlanRev)
	}
	return e
}

func scannedOf(c audit.Contents, n names) Evidence {
	var g []Pieces
	var of []string
	for _, l := range c.Lines {
		g = append(g, Pieces{There: min(l.Scanned, l.Planned), Missing: max(l.Planned-l.Scanned, 0), Extra: max(l.Scanned-l.Planned, 0)})
		if l.Scanned > 0 {
			of = append(of, fmt.Sprintf("%d %s", l.Scanned, n.of(l.Item)))
		}
	}
	s := strokesOf(g)
	e := Evidence{Word: "scanned", Value: fmt.Sprint(c.Scanned), Draw: &s, Says: strings.Join(of, ", ")}
	switch {
	case c.Scanned == c.Planned:
	case c.Counted == nil && c.Scanned < c.Planned:
		e.Class, e.Says = "wait", fmt.Sprintf("%d still to come", c.Planned-c.Scanned)
	default:
		e.Class, e.Says = "off", differs(c.Scanned, c.Planned, "than the plan")
	}
	if c.Bare > 0 {
		e.Says += fmt.Sprintf("; and %d without a label", c.Bare)
	}
	return e
}

func countedOf(c audit.Contents) Evidence {
	e := Evidence{Word: "counted", Class: "wait", Says: "nobody has counted it as it is now"}
	if c.Counted == nil {
		return e
	}
	n := *c.Counted
	s := strokesOf([]Pieces{{There: min(n, c.Scanned), Missing: max(c.Scanned-n, 0), Extra: max(n-c.Scanned, 0)}})
	e = Evidence{Word: "counted", Value: fmt.Sprint(n), Draw: &s, Says: "as many as were scanned"}
	if c.Count != nil {
		e.Source = "blind, " + c.Count.At.Std().Format("15:04:05")
		if by := c.Count.By; by != "" {
			e.Source += ", " + by
		}
	}
	if n != c.Scanned {
		e.Class, e.Says = "off", differs(n, c.Scanned, "than the scans")
	}
	return e
}

func differs(n, than int, words string) string {
	if n < than {
		return fmt.Sprintf("%d fewer %s", than-n, words)
	}
	return fmt.Sprintf("%d more %s", n-than, words)
}

func weighedOf(c audit.Contents) Evidence {
	w := c.Weight
	if w == nil {
		return Evidence{Word: "weighed", Class: "wait", Says: "not weighed yet"}
	}
	e := Evidence{Word: "weighed", Source: w.At.Std().Format("15:04:05"), Value: thin(w.Gross), Unit: "g", Says: w.Words()}
	if !w.Known || w.SD <= 0 {
		e.Class = "wait"
		return e
	}
	e.Gauge = gaugeOf(w)
	e.Says = fmt.Sprintf("expected %s ± %s g", thin(w.Mean), thin(w.SD))
	if w.Alarm {
		e.Class = "off"
		e.Says += fmt.Sprintf("; %.1f times that off", math.Abs(w.Z.Float()))
	}
	return e
}

// thin writes grams with a thin space between thousands.
func thin(m prep.Mass) string {
	s := fmt.Sprintf("%.0f", math.Abs(m.Grams()))
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + "\u2009" + s[i:]
	}
	if m.Grams() <= -0.5 {
		s = "−" + s
	}
	return s
}

func causeRow(e audit.Explanation, c audit.Contents, n names) CauseRow {
	row := CauseRow{Text: causeWords(e, n), Alone: chanceBar(e.Alone, false), Both: chanceBar(e.Both, e.RuledOut), NoCount: c.Counted == nil}
	row.Predicts = fmt.Sprintf("predicts %s g and %d pieces", signed(e.Effect), c.Scanned+e.Change)
	if e.RuledOut {
		row.Predicts = fmt.Sprintf("predicts %s g, but %d pieces", signed(e.Effect), c.Scanned+e.Change)
	}
	return row
}

func signed(m prep.Mass) string {
	if s := thin(m); m.Grams() > 0.5 {
		return "+" + s
	} else {
		return s
	}
}

// causeWords says a cause with the items' names.
func causeWords(e audit.Explanation, n names) string {
	switch e.Cause {
	case audit.AsPlanned:
		return strings.ToUpper(e.Text[:1]) + e.Text[1:]
	case audit.OneMissing:
		return "One " + n.of(e.Item) + " is missing"
	case audit.OneTooMany:
		return "One " + n.of(e.Item) + " too many"
	case audit.TwoMissing:
		return "Two " + n.of(e.Item) + " are missing"
	case audit.Exchanged:
		return "One " + n.of(e.Item) + " lies in place of a " + n.of(e.Instead)
	}
	return e.Text
}
