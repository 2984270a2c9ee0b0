package label

import (
	"fmt"
	"image"

	"packwright/prep"
)

// Printer is the label that shows whether a printer has the dots it is taken to
// have, and prints them one by one. Its rule is of a known length; its patches are
// even only when no dot was doubled or left out; its symbols have the narrowest
// bars that this package ever prints.
type Printer struct{}

// printerRule is the length of the rule.
const printerRule = 40 * prep.MM

// Pages gives one small label.
func (Printer) Pages(dpi int) ([]Layout, error) {
	p := newPage("printer test label", Small, dpi)
	code := fmt.Sprintf("%dDPI", dpi)
	bars, err := Code128(code)
	if err != nil {
		return nil, err
	}
	square, err := DataMatrix(code)
	if err != nil {
		return nil, err
	}
	p.text(14, 34, words{fmt.Sprintf("%d dots an inch?", dpi), 30, true})
	x, y := p.u(14), p.u(46)
	end := x + int((int64(printerRule)*int64(dpi)+int64(prep.Inch)/2)/int64(prep.Inch))
	p.Parts = append(p.Parts, Box(image.Rect(x, y+p.u(7), end, y+p.u(9))),
		Box(image.Rect(x, y, x+2, y+p.u(16))), Box(image.Rect(end-2, y, end, y+p.u(16))))
	p.text(14, 84, words{s: "rule " + printerRule.String() + otherPrinters(dpi), size: 19})
	at := p.bars(bars, prep.LeastDots, 0, 98, 90)
	p.below(at, 24)
	p.Parts = append(p.Parts, Placed{Symbol: square, Dot: prep.LeastDots, X: p.Size().X - p.u(70), Y: p.u(110)})
	p.text(14, 240, words{s: "Both read? Patches even?", size: 20})
	for i := range 4 {
		p.patch(300+38*i, 216, 26, 1+i/2, i%2 == 0)
	}
	return p.done()
}

// otherPrinters says how long the rule comes out on a printer of other dots.
func otherPrinters(dpi int) (s string) {
	for _, other := range []int{203, 300, 600} {
		if other != dpi {
			s += fmt.Sprintf("; %d mm: %d dpi", (int64(printerRule/prep.MM)*int64(dpi)+int64(other)/2)/int64(other), other)
		}
	}
	return s
}

// patch draws a square of stripes of so many dots, standing or lying. It is no
// chequered one: readers have taken those for square codes.
func (p *page) patch(x, y, side, dots int, standing bool) {
	x, y, side = p.u(x), p.u(y), p.u(side)/(2*dots)*2*dots
	for i := 0; i < side; i += 2 * dots {
		r := image.Rect(x, y+i, x+side, y+i+dots)
		if standing {
			r = image.Rect(x+i, y, x+i+dots, y+side)
		}
		p.Parts = append(p.Parts, Box(r))
	}
}
