package workflow

import (
	"fmt"
	"html"
	"slices"
	"strings"
)

// Measures of the drawing in pixels.
const (
	columnWide = 118
	rowHigh    = 26
	headHigh   = 64 // panel title and the names of its states
	panelGap   = 36
	letterWide = 6.2 // of the labels' type, for their white backing
)

// SVG draws the state machines. Each panel is read like a score: states side
// by side, their lines running down, one arrow a row from state to state under
// the names of its commands. Pointing at an arrow shows what its commands need.
func SVG() string {
	all := machines()
	wide, high := 0, panelGap
	for _, m := range all {
		wide = max(wide, len(m.states)*columnWide+columnWide)
		high += headHigh + len(m.arrows)*rowHigh + panelGap
	}
	var b strings.Builder
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %d" width="%d" height="%d" role="img" aria-labelledby="title desc">`+"\n", wide, high, wide, high)
	b.WriteString(svgHead)
	y := panelGap
	for _, m := range all {
		m.draw(&b, y)
		y += headHigh + len(m.arrows)*rowHigh + panelGap
	}
	b.WriteString("</svg>\n")
	return b.String()
}

const svgHead = `<title id="title">The states of the floor</title>
<desc id="desc">One panel for each kind of thing; a column for each state; a row for each way from one state to another with the commands that take it. A filled dot is birth, and the end.</desc>
<style>
svg { color: #1b1b1b; background: #ffffff; font: 12px sans-serif; }
.back { fill: #ffffff; }
.name { font-weight: bold; }
.kind { font-size: 16px; font-weight: bold; }
.line { stroke: currentColor; stroke-opacity: .25; }
.way { stroke: currentColor; stroke-width: 1.5; fill: none; marker-end: url(#head); }
text { fill: currentColor; }
@media (prefers-color-scheme: dark) { svg { color: #e8e8e8; background: #161616; } .back { fill: #161616; } }
</style>
<defs><marker id="head" viewBox="0 0 8 8" refX="7" refY="4" markerWidth="8" markerHeight="8" orient="auto"><path d="M0 0 8 4 0 8z" fill="currentColor"/></marker></defs>
`

// draw draws one panel from y down.
func (m *machine) draw(b *strings.Builder, y int) {
	foot := y + headHigh + len(m.arrows)*rowHigh
	fmt.Fprintf(b, "<g>\n<text class=\"kind\" x=\"16\" y=\"%d\">%s</text>\n", y+12, html.EscapeString(m.of))
	for i, s := range m.states {
		x := column(i)
		fmt.Fprintf(b, "<line class=\"line\" x1=\"%d\" y1=\"%d\" x2=\"%d\" y2=\"%d\"/>\n", x, y+46, x, foot)
		if s == "" {
			fmt.Fprintf(b, "<circle cx=\"%d\" cy=\"%d\" r=\"5\" fill=\"currentColor\"/>\n", x, y+36)
			continue
		}
		fmt.Fprintf(b, "<text class=\"name\" x=\"%d\" y=\"%d\" text-anchor=\"middle\">%s</text>\n", x, y+40, html.EscapeString(s))
	}
	for i, a := range m.arrows {
		a.draw(b, column(slices.Index(m.states, a.from)), column(slices.Index(m.states, a.to)), y+headHigh+i*rowHigh+rowHigh/2)
	}
	b.WriteString("</g>\n")
}

func column(i int) int { return columnWide*3/4 + i*columnWide }

// draw draws one arrow with its commands above it.
func (a *arrow) draw(b *strings.Builder, from, to, y int) {
	label := strings.Join(a.by, ", ")
	tips := make([]string, len(a.by))
	for i, name := range a.by {
		tips[i] = needs(name)
	}
	middle := (from + to) / 2
	path := fmt.Sprintf("M%d %dH%d", from, y, to)
	if from == to { // a loop, open to the right
		path = fmt.Sprintf("M%d %dh18v8h-18", from, y)
		middle = from + 24 + int(letterWide*float64(len(label))/2)
	}
	half := int(letterWide * float64(len(label)) / 2)
	fmt.Fprintf(b, "<g><title>%s</title>", html.EscapeString(strings.Join(tips, "\n\n")))
	fmt.Fprintf(b, "<path class=\"way\" d=\"%s\"/>", path)
	fmt.Fprintf(b, "<rect class=\"back\" x=\"%d\" y=\"%d\" width=\"%d\" height=\"11\"/>", middle-half-2, y-15, 2*half+4)
	fmt.Fprintf(b, "<text x=\"%d\" y=\"%d\" text-anchor=\"middle\">%s</text></g>\n", middle, y-5, html.EscapeString(label))
}
