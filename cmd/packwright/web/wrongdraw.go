package web

import (
	"fmt"
	"math"
	"strings"

	"packwright/audit"
)

// Gauge is a reading on a line, with the band in which it would be good.
type Gauge struct {
	Expect, From, To, Read float64
	Text                   string
	TextX                  float64
	End                    bool // the text ends at TextX
	Off                    bool
}

// gaugeOf draws a reading on 230 px: the expected weight where there is room for
// the side to which it is off.
func gaugeOf(w *audit.Weight) *Gauge {
	off := w.Residual.Grams()
	limit := math.Max(w.Limit.Grams(), 1)
	g := &Gauge{Expect: strokesWide / 2, Off: w.Alarm}
	scale := 150 / math.Max(math.Abs(off), 5*limit)
	switch {
	case off < -limit:
		g.Expect = 200
	case off > limit:
		g.Expect = 30
	}
	at := func(grams float64) float64 { return r1(min(max(g.Expect+grams*scale, 2), strokesWide-2)) }
	g.From, g.To, g.Read = at(-limit), at(limit), at(off)
	if math.Abs(off) >= 0.5 {
		side := "light"
		if off > 0 {
			side = "heavy"
		}
		g.Text = thin(max(w.Residual, -w.Residual)) + " g " + side
	}
	if g.TextX = g.Read + 8; off > 0 {
		g.TextX, g.End = g.Read-8, true
	}
	if !w.Alarm {
		g.TextX, g.End = 2, false
	}
	return g
}

// Curves shows what the scale would read if each cause were so.
type Curves struct {
	Label string
	Each  []Curve
	Read  float64
	Text  string
	TextX float64
	End   bool
}

// Curve is one cause's bell.
type Curve struct {
	Path  string
	Class string
	X     float64
	Row   float64 // y of its name
	Text  string
	First bool
}

const (
	curvesWide, curvesFloor = 560.0, 120.0
	curvesMost              = 4
)

// curvesOf draws the first causes, and none missing beside them, on one axis.
func curvesOf(c audit.Contents, x audit.Explained, n names) *Curves {
	w := c.Weight
	if w == nil || !w.Known || w.SD <= 0 || len(x.Ranked) == 0 {
		return nil
	}
	list := x.Ranked[:min(len(x.Ranked), curvesMost)]
	if !containsCause(list, audit.AsPlanned) {
		list = append(append([]audit.Explanation(nil), list...), audit.Explanation{Cause: audit.AsPlanned, Text: "nothing missing"})
	}
	lo, hi := w.Residual.Grams(), w.Residual.Grams()
	for _, e := range list {
		lo, hi = math.Min(lo, e.Effect.Grams()), math.Max(hi, e.Effect.Grams())
	}
	sd := w.SD.Grams()
	lo, hi = lo-3.2*sd, hi+3.2*sd
	at := func(g float64) float64 { return (g - lo) / (hi - lo) * curvesWide }
	out := &Curves{Read: r1(at(w.Residual.Grams())), Text: "read " + signed(w.Residual), Label: fmt.Sprintf("The reading is %s g from the expected weight", signed(w.Residual))}
	if out.TextX = out.Read + 8; out.Read > curvesWide*0.7 {
		out.TextX, out.End = out.Read-8, true
	}
	for i, e := range list {
		cv := Curve{X: r1(at(e.Effect.Grams())), Text: shortCause(e, n), First: i == 0, Class: "lead", Path: bell(e.Effect.Grams(), sd, at, i == 0)}
		if i == 0 {
			cv.Class = "st"
		} else if e.RuledOut {
			cv.Class = "ex"
		}
		out.Label += fmt.Sprintf("; %s would be %s", cv.Text, signed(e.Effect))
		out.Each = append(out.Each, cv)
	}
	out.Label += "."
	spread(out.Each)
	return out
}

// spread puts each name on the first row where it does not lie over another.
func spread(list []Curve) {
	type taken struct{ row, from, to float64 }
	var used []taken
	for i := range list {
		half := float64(len(list[i].Text)) * 3.6
		list[i].X = min(max(list[i].X, half), curvesWide-half)
		row := curvesFloor + 18
		for again := true; again; {
			again = false
			for _, u := range used {
				if u.row == row && list[i].X-half < u.to+8 && list[i].X+half > u.from-8 {
					row, again = row+17, true
				}
			}
		}
		list[i].Row = row
		used = append(used, taken{row, list[i].X - half, list[i].X + half})
	}
}

// High is how high the drawing must be for its names.
func (c *Curves) High() float64 {
	most := curvesFloor + 18
	for _, e := range c.Each {
		most = max(most, e.Row)
	}
	return most + 8
}

func containsCause(list []audit.Explanation, c audit.Cause) bool {
	for _, e := range list {
		if e.Cause == c {
			return true
		}
	}
	return false
}

func shortCause(e audit.Explanation, n names) string {
	switch e.Cause {
	case audit.AsPlanned:
		return "nothing missing"
	case audit.OneMissing:
		return "a " + e.Item + " missing"
	case audit.OneTooMany:
		return "a " + e.Item + " too many"
	case audit.TwoMissing:
		return "two " + e.Item + " missing"
	case audit.Exchanged:
		return e.Item + " for " + e.Instead
	}
	return e.Text
}

// bell is the path of a normal curve.
func bell(mean, sd float64, at func(float64) float64, tall bool) string {
	high := 70.0
	if tall {
		high = 92
	}
	var b strings.Builder
	for i := 0; i <= 32; i++ {
		z := -3 + 6*float64(i)/32
		op := 'L'
		if i == 0 {
			op = 'M'
		}
		fmt.Fprintf(&b, "%c%.1f %.1f", op, at(mean+z*sd), curvesFloor-high*math.Exp(-z*z/2))
	}
	return b.String()
}
