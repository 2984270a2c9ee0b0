package web

import (
	"fmt"
	"maps"
	"net/http"
	"slices"
	"strings"

	"packwright/audit"
	"packwright/events"
	"packwright/workflow"
)

// oddPage is all that was out of the ordinary.
type oddPage struct {
	Sheet
	audit.Irregular
	Summary string
	Refused []refusedRow
	Empty   bool
}

// refusedRow is how often scans were refused for one reason.
type refusedRow struct {
	Code string
	Says string
	N    int
	Draw Strokes
}

// odd shows the list that an auditor asks for first.
func (p *Pages) odd(w http.ResponseWriter, r *http.Request) {
	page := oddPage{}
	err := p.Log.Look(r.Context(), p.at(r), func(v View) error {
		page.Sheet = p.sheet(r.Context(), v, "What was out of the ordinary?")
		page.Nav, page.Styles = "/odd", []string{"desk.css", "odd.css"}
		page.Irregular = v.Irregular()
		page.Summary = page.Irregular.Summary()
		page.Empty = page.Summary == (audit.Irregular{}).Summary()
		for _, code := range slices.Sorted(maps.Keys(page.Irregular.Refused)) {
			n := page.Irregular.Refused[code]
			page.Refused = append(page.Refused, refusedRow{code, refusalWords(code), n, strokesOf([]Pieces{{There: n}})})
		}
		return nil
	})
	p.showOr(w, r, err, "odd", &page)
}

// refusalWords is what a bench was told, without the names that were in it.
func refusalWords(code string) string {
	for _, t := range workflow.Texts() {
		if string(t.Code) == code {
			return strings.NewReplacer("%s.", "…", "%s", "…", "%d", "…").Replace(t.What)
		}
	}
	return ""
}

// gateSays is a gate in words.
func gateSays(gate string) string {
	for _, g := range gateWords {
		if g.Gate == gate {
			return g.Says
		}
	}
	return gate
}

// spaced writes a type of event as words: "unit taken out".
func spaced(t events.Type) string { return strings.NewReplacer(".", " ", "-", " ").Replace(string(t)) }

// about names what a leave was given for.
func about(s events.Scope) string {
	for _, x := range []string{s.Carton, s.Run, s.Lot, s.Station} {
		if x != "" {
			return x
		}
	}
	if s.Mark > 0 {
		return s.Mark.Display()
	}
	return "the floor"
}

// missing writes the numbers that an outbox lacks.
func missing(list [][2]uint64) string {
	out := make([]string, 0, len(list))
	for _, m := range list {
		if m[0] == m[1] {
			out = append(out, fmt.Sprint(m[0]))
			continue
		}
		out = append(out, fmt.Sprintf("%d to %d", m[0], m[1]))
	}
	return commas(out)
}
