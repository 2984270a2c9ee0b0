package label

import (
	"fmt"
	"image"

	"packwright/prep"
)

// Label is something that can be printed: its pages for a printer of so many
// dots an inch. Errors are *prep.InputError: words that cannot be set, or a
// symbol that does not fit, with the reason.
type Label interface {
	Pages(dpi int) ([]Layout, error)
}

// Layout is one page in whole printer dots, counted from the top left corner.
type Layout struct {
	Title         string // what it is, for a printer's queue
	Width, Height prep.Length
	DPI           int
	Parts         []Part
}

// Part is a [Box], a [Polygon], a line of [Text] or a [Placed] symbol.
type Part interface {
	place() image.Rectangle // what it covers, with the quiet zone of a symbol
	moved(dx, dy int) Part
	paint(canvas)
}

// canvas is what a painter can do. Bars are told from boxes, since a print path
// may fatten them.
type canvas interface {
	box(image.Rectangle)
	bar(image.Rectangle)
	polygon([]image.Point)
	text(Text)
}

// Size is the page in dots; a broken dot counts as a whole one.
func (l *Layout) Size() image.Point {
	dots := func(x prep.Length) int { return int((int64(x)*int64(l.DPI) + int64(prep.Inch) - 1) / int64(prep.Inch)) }
	return image.Pt(dots(l.Width), dots(l.Height))
}

// Says lists what the page's symbols carry, in the order of the parts.
func (l *Layout) Says() (all []string) {
	for _, s := range l.symbols() {
		all = append(all, s.Says)
	}
	return all
}

func (l *Layout) symbols() (all []Placed) {
	for _, p := range l.Parts {
		if s, ok := p.(Placed); ok {
			all = append(all, s)
		}
	}
	return all
}

// Check says what would spoil the page: a part over its edge, one within the
// place of a symbol, quiet zone included, or one that a text stands on. Only
// drawings may touch each other. Errors: *prep.InputError.
func (l *Layout) Check() error {
	paper := image.Rectangle{Max: l.Size()}
	for i, p := range l.Parts {
		if !p.place().In(paper) {
			return prep.Input(fmt.Sprintf("%s goes over the edge of %s", partName(p), l.Title), "use fewer words, or a larger label")
		}
		if drawn(p) {
			continue
		}
		for j, q := range l.Parts {
			if i != j && p.place().Overlaps(q.place()) {
				return prep.Input(fmt.Sprintf("%s stands in the place of %s on %s", partName(q), partName(p), l.Title), "use fewer words, or a larger label")
			}
		}
	}
	return nil
}

func drawn(p Part) bool {
	switch p.(type) {
	case Box, Polygon:
		return true
	}
	return false
}

func partName(p Part) string {
	switch p := p.(type) {
	case Text:
		return fmt.Sprintf("the text %q", p.S)
	case Placed:
		return "the symbol " + p.Name
	}
	return "a drawing"
}

// Put adds the parts of another layout, moved.
func (l *Layout) Put(x, y int, of Layout) {
	for _, p := range of.Parts {
		l.Parts = append(l.Parts, p.moved(x, y))
	}
}

// Box is a filled rectangle; a line is a thin one.
type Box image.Rectangle

func (b Box) place() image.Rectangle { return image.Rectangle(b) }
func (b Box) moved(dx, dy int) Part  { return Box(image.Rectangle(b).Add(image.Pt(dx, dy))) }
func (b Box) paint(c canvas)         { c.box(image.Rectangle(b)) }

// Polygon is a filled shape with straight sides.
type Polygon []image.Point

func (g Polygon) place() image.Rectangle {
	r := image.Rectangle{Min: g[0], Max: g[0]}
	for _, p := range g {
		r = r.Union(image.Rect(p.X, p.Y, p.X+1, p.Y+1))
	}
	return r
}

func (g Polygon) moved(dx, dy int) Part {
	out := make(Polygon, len(g))
	for i, p := range g {
		out[i] = p.Add(image.Pt(dx, dy))
	}
	return out
}

func (g Polygon) paint(c canvas) { c.polygon(g) }

// Text is one line of type: X is its left end, Y its baseline, Size the height
// of the type (its em) in dots.
type Text struct {
	X, Y, Size int
	Bold       bool
	S          string
}

// place reaches from the height of a capital to the depth of a g (0.73 and 0.22
// of the size in this type).
func (t Text) place() image.Rectangle {
	return image.Rect(t.X, t.Y-t.Size*3/4, t.X+measure(t.S, t.Bold, t.Size), t.Y+t.Size*2/9)
}

func (t Text) moved(dx, dy int) Part { t.X, t.Y = t.X+dx, t.Y+dy; return t }
func (t Text) paint(c canvas)        { c.text(t) }

// Placed is a symbol on a page: X, Y is the top left corner of its first
// module, Dot the width of a module in dots, High that of linear bars.
type Placed struct {
	Symbol
	X, Y, Dot, High int
}

// body is what its modules cover.
func (s Placed) body() image.Rectangle {
	high := s.High
	if !s.linear() {
		high = len(s.Rows) * s.Dot
	}
	return image.Rect(s.X, s.Y, s.X+s.modules()*s.Dot, s.Y+high)
}

func (s Placed) place() image.Rectangle {
	r := s.body()
	r.Min.X -= s.Left * s.Dot
	r.Max.X += s.Right * s.Dot
	if !s.linear() {
		r.Min.Y -= s.Left * s.Dot
		r.Max.Y += s.Right * s.Dot
	}
	return r
}

func (s Placed) moved(dx, dy int) Part { s.X, s.Y = s.X+dx, s.Y+dy; return s }

func (s Placed) paint(c canvas) {
	put, high := c.box, s.Dot
	if s.linear() {
		put, high = c.bar, s.High
	}
	for row, modules := range s.Rows {
		y := s.Y + row*s.Dot
		for i := 0; i < len(modules); i++ {
			from := i
			for i < len(modules) && modules[i] {
				i++
			}
			if i > from {
				put(image.Rect(s.X+from*s.Dot, y, s.X+i*s.Dot, y+high))
			}
		}
	}
}
