package main

import (
	"errors"
	"fmt"
	"io"
	"time"

	"packwright/audit"
	"packwright/prep"
)

// siblingsCommand says which units share a fate with one, and where they are.
type siblingsCommand struct {
	Of     string        `arg:"" help:"A mark, or what they share: a run, a material lot, a source lot, a carton."`
	Window time.Duration `default:"30m" help:"How long before and after the unit's own time its bench and badge count (${default})."`
	atFlag
}

// siblingSets is the answer, one set an axis.
type siblingSets struct {
	Of   string           `json:"of"`
	Sets []audit.Siblings `json:"sets"`
}

// Text writes one axis a line.
func (s siblingSets) Text(w io.Writer) error { return audit.SiblingsText(w, s.Of, s.Sets) }

var siblingsQuestion = question[siblingSets]{"/siblings/{of}", "the units that share a run, bench, material, rules, lot or carton; ?window=30m ?at=", answerSiblings}

func answerSiblings(v view, say asked) (out siblingSets, err error) {
	out.Of = say["of"]
	window := 30 * time.Minute
	if say["window"] != "" {
		if window, err = time.ParseDuration(say["window"]); err != nil || window < 0 {
			return out, prep.Input(fmt.Sprintf("%q is no length of time", say["window"]), "write it like 30m or 1h30m")
		}
	}
	for _, axis := range []audit.Axis{audit.ByRun, audit.ByMaterial, audit.ByLot, audit.ByCarton} {
		s, err := v.SiblingsAlong(axis, out.Of)
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
		return out, &audit.NoSuch{Kind: "mark, run, material lot, source lot or carton", Name: out.Of}
	}
	out.Sets, err = v.SiblingsOf(m, window)
	return out, err
}

func (c *siblingsCommand) Run(d *desk) error {
	return tell(d, siblingsQuestion, asked{"of": c.Of, "window": c.Window.String(), "at": c.At})
}
