package web

import "fmt"

// Tally is a row of strokes: one stroke is one piece. It is one SVG line whose
// width is the strokes' height and whose dashes are the pieces; n pieces end at
// n·pitch − gap. Where a stroke would be thinner than can be told apart, the row is
// a block of the same length, and the number beside it counts.
type Tally struct {
	X1, X2, Y, High float64
	Dash            string // empty: a block
	Class           string
}

// Field is where strokes are drawn: as many as Full fill its width.
type Field struct {
	X, Y, Wide, High float64
	Full             int
	Pitch            float64 // at most; 0: 8
}

// thinnest is the least pitch at which strokes can be told apart on a screen.
const thinnest = 1.6

// pitch gives the distance between strokes, and how wide one is.
func (f Field) pitch() (pitch, wide float64) {
	pitch = f.Pitch
	if pitch == 0 {
		pitch = 8
	}
	if f.Full > 0 {
		pitch = min(pitch, f.Wide/float64(f.Full))
	}
	return pitch, min(3.4, pitch*.58)
}

// strokes draws n pieces, the first of them where number skip would end.
func (f Field) strokes(skip, n int, class string) Tally {
	pitch, wide := f.pitch()
	t := Tally{X1: f.X + float64(skip)*pitch, Y: f.Y + f.High/2, High: f.High, Class: class}
	t.X2 = t.X1 + float64(n)*pitch
	if pitch < thinnest {
		return t
	}
	t.X2 -= pitch - wide
	t.Dash = fmt.Sprintf("%.2f %.2f", wide, pitch-wide)
	return t
}

// rows draws a carton's lines one under another: what lies in it, and thin where
// the plan wants more. The full plan of the longest line fills the width.
func rows(lines []Fill, in Field) []Tally {
	for _, l := range lines {
		in.Full = max(in.Full, l.Planned, l.Here)
	}
	if len(lines) == 0 || in.Full == 0 {
		return nil
	}
	step := in.High / float64(len(lines))
	gap := min(4, step/4)
	var out []Tally
	for i, l := range lines {
		row := in
		row.Y, row.High = in.Y+float64(i)*step, step-gap
		if l.Here > 0 {
			out = append(out, row.strokes(0, l.Here, "st"))
		}
		if left := l.Planned - l.Here; left > 0 {
			out = append(out, row.strokes(l.Here, left, "ghost-st"))
		}
	}
	return out
}

// Fill is one line of a carton: what the plan wants, and what lies in it.
type Fill struct{ Planned, Here int }
