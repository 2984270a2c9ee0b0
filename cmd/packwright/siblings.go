package main

import (
	"errors"
	"fmt"
	"io"
	"strconv"
	"time"

	"packwright/audit"
	"packwright/prep"
)

// siblingsCommand says which units share a fate with one, and where they are.
type siblingsCommand struct {
	Of     string        `arg:"" help:"A mark, or what they share: a run, a material lot, a source lot, a carton, a scale, a label template (\"keep-sealed 2\"), warm-air, a recipe of a revision (\"r5 wrap\"), or a badge at a bench from a moment to another (\"ST-2 ife FROM..TO\")."`
	Window time.Duration `default:"30m" help:"How long before and after the unit's own time its bench and badge count (${default})."`
	From   string        `placeholder:"MARK" help:"Show the members from this mark on; a set of many is shown a page at a time."`
	// Background is judged against; a percentage, because rates of complaints are told so.
	Background float64 `default:"1.5" placeholder:"PERCENT" help:"Units complained of in a hundred when nothing is wrong with their making (${default})."`
	atFlag
}

// siblingSets is the answer, one set an axis.
type siblingSets struct {
	Of   string           `json:"of"`
	Sets []audit.Siblings `json:"sets"`
	// Matured is this floor's own: complained of among all that left long enough ago.
	Matured audit.Tally `json:"matured"`
}

// Text writes one axis a line.
func (s siblingSets) Text(w io.Writer) error {
	if err := audit.SiblingsText(w, s.Of, s.Sets); err != nil || s.Matured.Of == 0 {
		return err
	}
	_, err := fmt.Fprintf(w, "  of this floor's own, sent %d days ago or more: %d of %d complained of\n", int(audit.MaturedAfter.Hours()/24), s.Matured.Bad, s.Matured.Of)
	return err
}

var siblingsQuestion = question[siblingSets]{"/siblings/{of}", "the units that share a run, bench, material, rules, lot, carton, scale or label template, and what complaints say; ?window=30m ?background=1.5 ?from= ?at=", answerSiblings}

func answerSiblings(v view, say asked) (siblingSets, error) {
	background := audit.DefaultBackground
	if text := say["background"]; text != "" {
		percent, err := strconv.ParseFloat(text, 64)
		if err != nil || percent <= 0 || percent >= 100 {
			return siblingSets{}, prep.Input(fmt.Sprintf("%q is no percentage", text), "write it like 1.5")
		}
		background = prep.FixedOf(percent / 100)
	}
	out, err := gatherSiblings(v, say)
	audit.Judge(out.Sets, background)
	out.Matured = v.Matured(audit.MaturedAfter)
	return out, err
}

// gatherSiblings finds the sets of what was asked for.
func gatherSiblings(v view, say asked) (out siblingSets, err error) {
	out.Of = say["of"]
	window := 30 * time.Minute
	if say["window"] != "" {
		if window, err = time.ParseDuration(say["window"]); err != nil || window < 0 {
			return out, prep.Input(fmt.Sprintf("%q is no length of time", say["window"]), "write it like 30m or 1h30m")
		}
	}
	for _, axis := range []audit.Axis{audit.ByRun, audit.ByMaterial, audit.ByLot, audit.ByCarton, audit.ByRules, audit.ByScale, audit.ByTemplate, audit.ByWarmAir, audit.ByBench} {
		s, err := v.SiblingsAlong(axis, out.Of)
		if err == nil && say["from"] != "" {
			s.Marks, s.More, err = members(v, axis, say)
		}
		if err == nil {
			out.Sets = append(out.Sets, s)
			return out, nil
		}
		if no := (*audit.NoSuch)(nil); !errors.As(err, &no) {
			return out, err
		}
	}
	m, err := prep.ParseMark(out.Of)
	if err != nil {
		return out, &audit.NoSuch{Kind: "mark, run, material lot, source lot, carton, scale, label template or recipe", Name: out.Of}
	}
	out.Sets, err = v.SiblingsOf(m, window)
	return out, err
}

// members gives the page of a set's marks that was asked for.
func members(v view, axis audit.Axis, say asked) (prep.Marks, prep.Mark, error) {
	from, err := prep.ParseMark(say["from"])
	if err != nil {
		return nil, 0, err
	}
	return v.Members(axis, say["of"], from, audit.PageMarks)
}

func (c *siblingsCommand) Run(d *desk) error {
	return tell(d, siblingsQuestion, asked{"of": c.Of, "window": c.Window.String(), "from": c.From,
		"background": strconv.FormatFloat(c.Background, 'g', -1, 64), "at": c.At})
}
