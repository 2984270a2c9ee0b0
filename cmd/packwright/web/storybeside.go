package web

import (
	"fmt"
	"slices"
	"strings"

	"packwright/audit"
	"packwright/prep"
)

// LoadDrawing is a truck's cartons, the one in question filled.
type LoadDrawing struct {
	Load, Says string
	Boxes      []LoadBox
	High       float64
}

// LoadBox is one carton of a load.
type LoadBox struct {
	X, Y   float64
	Chosen bool
}

func loadDrawing(l audit.LoadView, chosen string) *LoadDrawing {
	d := &LoadDrawing{Load: l.Load, Says: fmt.Sprintf("load %s: %d cartons", l.Load, len(l.Cartons))}
	if !l.Closed.IsZero() {
		d.Says += ", left " + clockOf(l.Closed)
	}
	const each, line = 24, 14
	for i, c := range l.Cartons {
		d.Boxes = append(d.Boxes, LoadBox{X: float64(i%line) * each, Y: float64(i/line) * 30, Chosen: c == chosen})
	}
	d.High = float64((len(l.Cartons)+line-1)/line)*30 + 4
	return d
}

// Beside is those made beside one piece: nested brackets over one row of strokes.
type Beside struct {
	Tallies  []Tally
	Chosen   float64 // x of the piece asked for
	Brackets []Bracket
	High     float64
	Says     string
	Cut      int // how many of the outermost set are not drawn
}

// Bracket is one set over its part of the row.
type Bracket struct {
	X1, X2, Y float64
	Text      string
}

// mostBeside are drawn as strokes; a set with more keeps its bracket and its size.
const mostBeside = 96

// besideOf nests the sets of a piece: each bracket holds the one within. Sets that
// do not nest, or name no marks, stand in the table alone.
func besideOf(sets []audit.Siblings, m prep.Mark) *Beside {
	row, chain := nest(sets)
	if len(chain) == 0 {
		return nil
	}
	b := &Beside{}
	in := Field{X: 4, Y: 8, Wide: 900, High: 56, Full: len(row), Pitch: 12}
	b.Tallies = []Tally{in.strokes(0, len(row), "st")}
	pitch, wide := in.pitch()
	b.Chosen = in.X + float64(slices.Index(row, m))*pitch + wide/2
	var says []string
	for i, c := range chain {
		first := slices.Index(row, c.marks[0])
		text := fmt.Sprintf("same %s %s: %d", c.set.Axis, c.set.Key, c.set.N)
		b.Brackets = append(b.Brackets, Bracket{X1: in.X + float64(first)*pitch - 3, X2: in.X + float64(first+len(c.marks))*pitch - pitch + wide + 3, Y: 84 + float64(i)*24, Text: text})
		says = append(says, text)
	}
	b.High = 84 + float64(len(chain))*24
	b.Says = "Made beside it: " + strings.Join(says, ", ")
	return b
}

// longest gives the longest chain of sets, each of which holds the one before; the
// sets come smallest first.
func longest(sets []audit.Siblings) []audit.Siblings {
	chains := make([][]audit.Siblings, len(sets))
	var best []audit.Siblings
	for i, s := range sets {
		for _, c := range chains[:i] {
			inner := c[len(c)-1].Marks
			if len(c) > len(chains[i]) && len(s.Marks.Minus(inner))+len(inner) == len(s.Marks) {
				chains[i] = c
			}
		}
		chains[i] = append(slices.Clone(chains[i]), s)
		if len(chains[i]) > len(best) {
			best = chains[i]
		}
	}
	return best
}

type nested struct {
	set   audit.Siblings
	marks []prep.Mark // as they stand in the row
}

// nest orders the marks of the outermost set so that each set within is one
// stretch of them.
func nest(sets []audit.Siblings) (row []prep.Mark, chain []nested) {
	fit := slices.DeleteFunc(slices.Clone(sets), func(s audit.Siblings) bool {
		return s.Class > 0 || s.AtMost || s.More != 0 || len(s.Marks) == 0 || len(s.Marks) > mostBeside || s.Axis == audit.ByCarton || s.Axis == audit.ByBench
	})
	slices.SortStableFunc(fit, func(a, b audit.Siblings) int { return a.N - b.N })
	for _, s := range longest(fit) {
		rest := s.Marks.Minus(prep.NewMarks(row...))
		var left, right []prep.Mark
		for _, m := range rest {
			if len(row) > 0 && m < row[0] {
				left = append(left, m)
			} else {
				right = append(right, m)
			}
		}
		row = slices.Concat(left, row, right)
		chain = append(chain, nested{s, nil})
	}
	for i := range chain {
		for _, m := range row {
			if chain[i].set.Marks.Contains(m) {
				chain[i].marks = append(chain[i].marks, m)
			}
		}
	}
	return row, chain
}
