package web

import (
	"math"
	"strconv"
)

// Strokes is a drawing in which one stroke is one piece.
type Strokes struct {
	W, H   float64
	Lines  []StrokeLine
	Ghosts []Ghost
}

// StrokeLine is one dashed line of strokes that stand side by side.
type StrokeLine struct {
	X1, X2, Y, H float64
	Dash, Class  string
}

// Ghost is a piece that is not there, dotted.
type Ghost struct{ X, Y, W, H float64 }

// Pieces are alike: so many there, so many missing, so many that should not be.
type Pieces struct{ There, Missing, Extra int }

func (p Pieces) slots() int { return p.There + p.Missing + p.Extra }

// The strokes of a desk page: nine pixels from one to the next, four of them ink.
const (
	strokesWide = 230.0
	strokesHigh = 40.0
	pitchMost   = 9.0
	ink         = 4.0 / 9
	groupGap    = 16.0
	rowsMost    = 6
)

// strokesOf draws pieces group by group: on one row while they fit, else each
// group on its own.
func strokesOf(groups []Pieces) Strokes {
	s := Strokes{W: strokesWide, H: strokesHigh}
	all, most := 0, 0
	for _, g := range groups {
		all, most = all+g.slots(), max(most, g.slots())
	}
	if all == 0 {
		return s
	}
	gaps := groupGap * float64(len(groups)-1)
	if one := (strokesWide - 4 - gaps) / float64(all); one >= pitchMost*0.9 || len(groups) == 1 {
		x := 0.0
		for _, g := range groups {
			x = s.group(g, x, 2, strokesHigh-4, min(one, pitchMost)) + groupGap
		}
		return s
	}
	groups = folded(groups)
	high := strokesHigh / float64(len(groups))
	for _, g := range groups {
		most = max(most, g.slots())
	}
	for i, g := range groups {
		s.group(g, 0, float64(i)*high+1, high-2, min((strokesWide-4)/float64(most), pitchMost))
	}
	return s
}

// folded puts the groups behind the last row into it.
func folded(groups []Pieces) []Pieces {
	if len(groups) <= rowsMost {
		return groups
	}
	out := append([]Pieces(nil), groups[:rowsMost]...)
	for _, g := range groups[rowsMost:] {
		last := &out[rowsMost-1]
		last.There, last.Missing, last.Extra = last.There+g.There, last.Missing+g.Missing, last.Extra+g.Extra
	}
	return out
}

// group draws one group from x on, and gives where it ends.
func (s *Strokes) group(g Pieces, x, y, high, pitch float64) float64 {
	wide := pitch * ink
	line := func(n int, class string) {
		if n == 0 {
			return
		}
		end := x + float64(n)*pitch - (pitch - wide)
		s.Lines = append(s.Lines, StrokeLine{r3(x), r3(end), r3(y + high/2), r3(high), num(wide) + " " + num(pitch-wide), class})
		x += float64(n) * pitch
	}
	line(g.There, "st")
	for range g.Missing {
		s.Ghosts = append(s.Ghosts, Ghost{r3(x), r3(y), r3(max(wide, 2)), r3(high)})
		x += pitch
	}
	line(g.Extra, "st no")
	return x
}

func r1(x float64) float64 { return math.Round(x*10) / 10 }
func r3(x float64) float64 { return math.Round(x*1000) / 1000 }
func num(x float64) string { return strconv.FormatFloat(r3(x), 'f', -1, 64) }
