package label

import (
	"image"

	"packwright/prep"
)

// Carton is the label under which a carton travels.
type Carton struct {
	SSCC     prep.SSCC
	Carton   string // the floor's own name of it, largest on the label
	Of       string // what it is one of: "of 14, load LD-1, 4 March 2031"
	From, To string
	Owner    string
	Seal     string
	Gross    prep.Mass // 0: not weighed
}

// Pages gives one label of 4 × 6 in: the name first, the symbol lowest.
func (x Carton) Pages(dpi int) ([]Layout, error) {
	p := newPage("carton label", Tall, dpi)
	s, err := CartonNumber(x.SSCC)
	if err != nil {
		return nil, err
	}
	dots, err := p.fit(s, p.Size().X)
	if err != nil {
		return nil, err
	}
	p.box(40, 40, 732, 6)
	p.text(40, 196, p.fitted(words{x.Carton, 190, true}, 470, 60))
	p.closedBox(530, 82)
	p.text(40, 272, p.fitted(words{s: x.Of, size: 40}, 732, 24))
	p.box(40, 298, 732, 3)
	y := 354
	for _, row := range [][2]string{{"From", x.From}, {"To", x.To}, {"Owner", x.Owner}} {
		y = p.row(y, row, 40, 56)
	}
	p.box(40, 492, 732, 3)
	y = 572
	for _, row := range [][2]string{{"Seal", x.Seal}, {"Gross", x.gross()}} {
		y = p.row(y, row, 64, 78)
	}
	p.upright(624, 540)
	p.box(40, 690, 732, 3)
	p.text(40, 738, p.fitted(words{s: "Seal broken, or another number? Do not accept. Call.", size: 30}, 732, 24))
	at := p.barsAmid(s, dots, 0, 790, 310)
	p.below(at, 44)
	return p.done()
}

func (x Carton) gross() string {
	if x.Gross <= 0 {
		return ""
	}
	return x.Gross.String()
}

// row sets a word and what it is, unless that is not known, and gives the
// baseline of the next row.
func (p *page) row(y int, row [2]string, size, step int) int {
	if row[1] == "" {
		return y
	}
	p.text(40, y, words{s: row[0], size: 34})
	width := 552
	if size > 40 {
		width = 390 // beside the arrows
	}
	p.text(220, y, p.fitted(words{row[1], size, true}, width, 26))
	return y + step
}

// closedBox draws a carton with its lid and tape on.
func (p *page) closedBox(x, y int) {
	p.box(x, y+34, 8, 96)
	p.box(x+230, y+34, 8, 96)
	p.box(x, y+122, 238, 8)
	p.box(x-6, y+26, 250, 14)
	p.box(x+104, y+20, 30, 34)
}

// upright draws two arrows on a floor: this way up.
func (p *page) upright(x, y int) {
	for _, dx := range []int{0, 74} {
		p.polygon(image.Pt(x+dx+29, y), image.Pt(x+dx+60, y+46), image.Pt(x+dx-2, y+46))
		p.box(x+dx+22, y+44, 14, 62)
	}
	p.box(x-10, y+116, 152, 12)
}

// TeamLift is the caution on a carton that one person should not lift alone. It
// says what the floor's limits gave; it permits nothing.
type TeamLift struct {
	Carton string
	Gross  prep.Mass // 0: not said
}

// Pages gives one wide label.
func (x TeamLift) Pages(dpi int) ([]Layout, error) {
	p := newPage("team-lift label", Wide, dpi)
	p.frame(10, 8)
	p.lifters(70, 96)
	p.text(400, 130, p.fitted(words{"Two lift", 92, true}, 372, 60))
	p.text(400, 176, words{s: "Never one person alone.", size: 31})
	y := 280
	if x.Gross > 0 {
		p.text(400, y, p.fitted(words{x.Gross.String(), 80, true}, 372, 40))
		y += 60
	}
	p.text(400, y, p.fitted(words{s: x.Carton, size: 40}, 372, 24))
	return p.done()
}

// lifters draws two people with a carton between them.
func (p *page) lifters(x, y int) {
	for _, side := range []int{1, -1} {
		at := func(dx, dy int) image.Point { return image.Pt(x+145+side*(dx-145), y+dy) }
		p.polygon(at(20, 0), at(36, 0), at(48, 12), at(48, 28), at(36, 40), at(20, 40), at(8, 28), at(8, 12))
		p.polygon(at(4, 50), at(46, 50), at(60, 84), at(98, 108), at(92, 124), at(46, 104), at(46, 220), at(30, 220), at(26, 150), at(20, 220), at(4, 220))
	}
	p.box(x+100, y+76, 90, 8)
	p.box(x+100, y+146, 90, 8)
	p.box(x+100, y+76, 8, 78)
	p.box(x+182, y+76, 8, 78)
	p.box(x+132, y+76, 26, 22)
}
