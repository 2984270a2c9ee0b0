package label

import "packwright/prep"

// MarkAs says whether and how an item label carries the mark of its unit.
type MarkAs string

// The places of a mark. A second code that can be scanned may disturb the
// readers of those who receive the goods: that is the house's to decide.
const (
	MarkNowhere MarkAs = ""       // it is on the keep-sealed label, or there is none
	MarkText    MarkAs = "text"   // in letters only
	MarkSquare  MarkAs = "square" // as a square code in the corner, and in letters
)

// Item is the label that names an item, over its retail barcode.
type Item struct {
	GTIN   prep.GTIN // the number it is sold by; or
	Code   string    // a code of the floor's own, or of those who receive it
	Name   string    // short, for people
	Note   string    // a second line
	Mark   prep.Mark
	MarkAs MarkAs
}

func (x Item) symbol() (Symbol, error) {
	switch {
	case x.GTIN != "":
		return ItemNumber(x.GTIN)
	case x.Code != "":
		return Code128(x.Code)
	}
	return Symbol{}, prep.Input("an item label without a code", "give an item number, or the item's own code")
}

// itemEdge is kept free at the edges, for labels that sit askew on their roll: 1 mm.
const itemEdge = 8

// Pages gives one small label.
func (x Item) Pages(dpi int) ([]Layout, error) {
	p := newPage("item label", Small, dpi)
	s, err := x.symbol()
	if err != nil {
		return nil, err
	}
	corner, err := x.corner()
	if err != nil {
		return nil, err
	}
	dots, square, err := p.fitBoth(s, corner)
	if err != nil {
		return nil, err
	}
	x.names(p)
	high := max(140, (int(s.fits.MinHeight)*203+int(prep.Inch)-1)/int(prep.Inch))
	at := p.bars(s, dots, itemEdge, 72, high)
	left := max(itemEdge+6, at.X*203/p.DPI)
	line := p.fitted(words{s: s.Below, size: 26}, p.wide()-left-itemEdge-x.markLength(p), 16)
	p.text(left, 72+high+24, line)
	if x.MarkAs != MarkNowhere {
		p.textEnd(p.wide()-itemEdge-4, 72+high+24, x.markWords(p))
	}
	if square > 0 {
		room := at.place().Max.X
		side := corner.modules() * square
		p.Parts = append(p.Parts, Placed{Symbol: corner, Dot: square,
			X: room + (p.Size().X-p.u(itemEdge)-room-side)/2, Y: p.u(72+high/2) - side/2})
	}
	return p.done()
}

// names sets the name, and the note when the name leaves a line for it.
func (x Item) names(p *page) {
	width := p.wide() - 2*(itemEdge+6)
	name := words{x.Name, 30, true}
	if p.length(name) > width && x.Note == "" {
		p.paragraph(itemEdge+6, 32, words{x.Name, 24, true}, width, 2)
		return
	}
	p.text(itemEdge+6, 36, p.fitted(name, width, 22))
	p.text(itemEdge+6, 62, p.fitted(words{s: x.Note, size: 21}, width, 18))
}

// corner is the square code of the mark; without one it has no rows.
func (x Item) corner() (Symbol, error) {
	if x.MarkAs != MarkSquare {
		return Symbol{}, nil
	}
	return DataMatrix(x.Mark.Code())
}

func (x Item) markWords(p *page) words {
	return p.fitted(words{s: x.Mark.Display(), size: 24, bold: true}, 190, 18)
}

func (x Item) markLength(p *page) int {
	if x.MarkAs == MarkNowhere {
		return 0
	}
	return p.length(x.markWords(p)) + 12
}

// fitBoth chooses the widths of a linear symbol and of a square code beside it:
// the square's modules are as large as the bars leave room for. No square: 0.
func (p *page) fitBoth(s, corner Symbol) (dots, square int, err error) {
	room := p.Size().X - 2*p.u(itemEdge)
	if corner.Rows == nil {
		dots, err = p.fit(s, room)
		return dots, 0, err
	}
	for square = p.u(5); square >= prep.LeastDots; square-- {
		if dots, err = p.fit(s, room-corner.across()*square); err == nil {
			return dots, square, nil
		}
	}
	return 0, 0, prep.Input("the "+s.Name+" of "+s.Says+" leaves no room for a mark beside it: "+err.(*prep.InputError).What,
		"print the mark in letters, or on the keep-sealed label")
}
