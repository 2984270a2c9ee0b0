package label

import (
	"fmt"
	"image"
	"strings"

	"packwright/prep"
)

// page is a layout while it is drawn. Lengths are written in units of 1/203 in,
// the dot of the commonest label printer, and turned into dots by u. The first
// thing that cannot be done is kept and given at the end.
type page struct {
	Layout
	stock Stock
	err   error
}

// dpiLeast and dpiMost bound what a printer of labels or paper has.
const (
	dpiLeast = 150
	dpiMost  = 1200
)

func newPage(title string, s Stock, dpi int) *page {
	p := &page{Layout: Layout{Title: title, Width: s.Width, Height: s.Height, DPI: dpi}, stock: s}
	if dpi < dpiLeast || dpi > dpiMost {
		p.err = prep.Input(fmt.Sprintf("a printer of %d dots an inch", dpi), "look on its plate: label printers have 203, 300 or 600")
		p.DPI = 203
	}
	return p
}

// done gives the finished page, or what was wrong with it.
func (p *page) done() ([]Layout, error) {
	if p.err == nil {
		p.err = p.Check()
	}
	if p.err != nil {
		return nil, p.err
	}
	return []Layout{p.Layout}, nil
}

func (p *page) fail(err error) {
	if p.err == nil {
		p.err = err
	}
}

// u turns units of 1/203 in into dots, rounded.
func (p *page) u(n int) int { return (n*p.DPI*2 + 203) / 406 }

// wide and high are the page's sides in units, a broken one left out.
func (p *page) wide() int { return int(int64(p.Width) * 203 / int64(prep.Inch)) }
func (p *page) high() int { return int(int64(p.Height) * 203 / int64(prep.Inch)) }

// box draws a rectangle, given by its corner and sides in units. It is at least
// two dots thick: thinner lines break on worn printers.
func (p *page) box(x, y, w, h int) {
	x0, y0 := p.u(x), p.u(y)
	p.Parts = append(p.Parts, Box(image.Rect(x0, y0, x0+max(2, p.u(x+w)-x0), y0+max(2, p.u(y+h)-y0))))
}

// polygon draws a shape, given by its corners in units.
func (p *page) polygon(corners ...image.Point) {
	g := make(Polygon, len(corners))
	for i, c := range corners {
		g[i] = image.Pt(p.u(c.X), p.u(c.Y))
	}
	p.Parts = append(p.Parts, g)
}

// words are a line of type to be set: what, how large, how bold.
type words struct {
	s    string
	size int // units
	bold bool
}

// fitted is the size at which words are no longer than width, from theirs down
// to least; when even that is too large, the words are cut short. All in units.
func (p *page) fitted(w words, width, least int) words {
	if err := settable(w.s); err != nil {
		p.fail(err)
		return words{}
	}
	for ; w.size > least && p.length(w) > width; w.size-- {
	}
	if p.length(w) > width {
		dots, size := p.u(width), p.u(w.size)
		w.s = strings.TrimSpace(cut(w.s, w.bold, size, dots-measure("…", w.bold, size))) + "…"
	}
	return w
}

// length of a line in units, rounded up.
func (p *page) length(w words) int {
	return (measure(w.s, w.bold, p.u(w.size))*203 + p.DPI - 1) / p.DPI
}

// text sets a line from x on the baseline y.
func (p *page) text(x, y int, w words) {
	if w.s != "" {
		p.Parts = append(p.Parts, Text{X: p.u(x), Y: p.u(y), Size: p.u(w.size), Bold: w.bold, S: w.s})
	}
}

// textEnd sets a line that ends at x, textMid one whose middle is there.
func (p *page) textEnd(x, y int, w words) { p.text(x-p.length(w), y, w) }
func (p *page) textMid(x, y int, w words) { p.text(x-p.length(w)/2, y, w) }

// paragraph sets words in lines no longer than width from the baseline y on,
// and gives the baseline of the next line. Words that need more lines than most
// are cut short.
func (p *page) paragraph(x, y int, w words, width, most int) int {
	if err := settable(w.s); err != nil {
		p.fail(err)
		return y
	}
	lines := wrap(w.s, w.bold, p.u(w.size), p.u(width))
	if len(lines) > most {
		rest := words{strings.Join(lines[most-1:], " "), w.size, w.bold}
		lines = append(lines[:most-1:most-1], p.fitted(rest, width, w.size).s)
	}
	for _, line := range lines {
		p.text(x, y, words{line, w.size, w.bold})
		y += leading(w.size)
	}
	return y
}

// leading is the distance from one baseline to the next.
func leading(size int) int { return (size*23 + 19) / 20 }

// bars puts a linear symbol of a fitted width: x is where its quiet zone
// begins, y the top of the bars, both in units, as their height is.
func (p *page) bars(s Symbol, dots, x, y, high int) Placed {
	at := Placed{Symbol: s, X: p.u(x) + s.Left*dots, Y: p.u(y), Dot: dots, High: p.u(high)}
	p.Parts = append(p.Parts, at)
	return at
}

// barsAmid is bars in the middle between x and the right edge.
func (p *page) barsAmid(s Symbol, dots, x, y, high int) Placed {
	at := p.bars(s, dots, x, y, high)
	room := p.Size().X - p.u(x)
	if x > 0 {
		room -= p.u(itemEdge)
	}
	at.X = p.u(x) + (room-s.across()*dots)/2 + s.Left*dots
	p.Parts[len(p.Parts)-1] = at
	return at
}

// below sets the readable form of a symbol under the middle of its bars.
func (p *page) below(at Placed, size int) {
	w := p.fitted(words{s: at.Below, size: size}, (at.body().Dx()*203)/p.DPI, 14)
	x := at.X + (at.body().Dx()-measure(w.s, w.bold, p.u(w.size)))/2
	p.Parts = append(p.Parts, Text{X: x, Y: at.Y + at.High + p.u(w.size), Size: p.u(w.size), S: w.s})
}
