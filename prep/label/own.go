package label

import "packwright/prep"

// Own is a label with a code of the floor's own: of a tote, a carton before it
// has a number, a bench, an aside tote, a load, a badge.
type Own struct {
	Name   string // largest, for people: T-05
	Code   string // what the symbol carries: T-05.I
	Word   string // what it is: tote
	Note   string
	Stock  Stock // zero: Wide
	Square bool  // a Data Matrix instead of bars, for codes too long for them
}

// Pages gives one label.
func (x Own) Pages(dpi int) ([]Layout, error) {
	if x.Stock == (Stock{}) {
		x.Stock = Wide
	}
	p := newPage(x.Word+" label", x.Stock, dpi)
	if x.Square {
		return x.square(p)
	}
	s, err := Code128(x.Code)
	if err != nil {
		return nil, err
	}
	edge := p.wide() / 40
	dots, err := p.fit(s, p.Size().X-2*p.u(itemEdge))
	if err != nil {
		return nil, prep.Input(err.(*prep.InputError).What, "take a larger label, a shorter code, or a square code")
	}
	top := p.high() * 47 / 100
	x.names(p, edge, p.wide()-2*edge, top)
	size := p.high() * 8 / 100
	at := p.barsAmid(s, dots, 0, top, p.high()*94/100-size-top)
	p.below(at, max(18, size))
	return p.done()
}

// names sets the name as large as the upper part of the page lets it, what it
// is at its right, and the note beneath.
func (x Own) names(p *page, edge, width, high int) {
	word := p.fitted(words{s: x.Word, size: max(20, high/6)}, width/3, 16)
	room := high - 16
	if x.Note != "" {
		note := p.fitted(words{s: x.Note, size: max(18, high/8)}, width, 16)
		p.text(edge, high-2-note.size*2/9, note)
		room -= note.size * 6 / 5
	}
	name := p.fitted(words{x.Name, room * 100 / 98, true}, width-p.length(word)-20, 24)
	base := 13 + room*100/98*3/4
	p.text(edge, base, name)
	p.textEnd(edge+width, base, word)
}

// square has the code at the right, the words at the left.
func (x Own) square(p *page) ([]Layout, error) {
	s, err := DataMatrix(x.Code)
	if err != nil {
		return nil, err
	}
	edge := p.wide() / 40
	dots, err := p.square(s, min(p.Size().X/2, p.Size().Y)-2*p.u(edge))
	if err != nil {
		return nil, err
	}
	side := s.modules() * dots
	at := Placed{Symbol: s, Dot: dots, X: p.Size().X - p.u(edge) - s.Right*dots - side, Y: (p.Size().Y - side) / 2}
	p.Parts = append(p.Parts, at)
	width := at.place().Min.X*203/p.DPI - edge - 4
	high := p.high()
	p.text(edge, high*45/100, p.fitted(words{x.Name, high * 40 / 100, true}, width, 18))
	p.text(edge, high*62/100, p.fitted(words{s: x.Word, size: max(20, high/10)}, width, 16))
	p.text(edge, high*76/100, p.fitted(words{s: x.Note, size: max(18, high/12)}, width, 14))
	p.text(edge, high*92/100, p.fitted(words{s: x.Code, size: max(18, high/12)}, width, 12))
	return p.done()
}
