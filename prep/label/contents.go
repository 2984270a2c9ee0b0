package label

import (
	"fmt"

	"packwright/prep"
)

// Contents is the sheet that says what a counted carton holds. It must not be
// printed before the count: it would tell the counter the number.
type Contents struct {
	Carton string // the floor's own name
	Code   string // the same as its symbol carries it, with a check sign
	Facts  string // "counted by tobi 17:49, seal 000415"
	Lines  []ContentsLine
}

// ContentsLine is one item of one owner.
type ContentsLine struct {
	N    int
	Item string // what people call it
	Note string // whose, and of which lots
}

// contentsLines are how many fit one page.
const contentsLines = 9

// Pages gives as many pages of 4 × 6 in as the lines want.
func (x Contents) Pages(dpi int) ([]Layout, error) {
	if len(x.Lines) == 0 {
		return nil, prep.Input("a contents sheet of an empty carton", "print it when the carton is counted")
	}
	var out []Layout
	n := (len(x.Lines) + contentsLines - 1) / contentsLines
	for i := range n {
		pages, err := x.page(dpi, i, n)
		if err != nil {
			return nil, err
		}
		out = append(out, pages...)
	}
	return out, nil
}

func (x Contents) page(dpi, i, n int) ([]Layout, error) {
	p := newPage("contents sheet", Tall, dpi)
	s, err := Code128(x.Code)
	if err != nil {
		return nil, err
	}
	dots, err := p.fit(s, p.u(640))
	if err != nil {
		return nil, err
	}
	p.box(40, 40, 732, 6)
	p.text(40, 146, p.fitted(words{x.Carton, 120, true}, 440, 50))
	p.textEnd(772, 104, words{s: "contents", size: 44})
	if n > 1 {
		p.textEnd(772, 146, words{s: fmt.Sprintf("sheet %d of %d", i+1, n), size: 34})
	}
	p.text(40, 200, p.fitted(words{s: x.Facts, size: 30}, 732, 20))
	p.box(40, 224, 732, 3)
	x.lines(p, x.Lines[i*contentsLines:min((i+1)*contentsLines, len(x.Lines))], i == n-1)
	at := p.barsAmid(s, min(dots, p.u(4)), 0, 1040, 110)
	p.below(at, 34)
	return p.done()
}

// lines sets the rows of one page, and under the last the sum.
func (x Contents) lines(p *page, lines []ContentsLine, last bool) {
	y := 284
	for _, l := range lines {
		p.textEnd(150, y+8, p.fitted(words{fmt.Sprint(l.N), 56, true}, 110, 20))
		p.text(180, y-8, p.fitted(words{l.Item, 34, true}, 592, 24))
		p.text(180, y+22, p.fitted(words{s: l.Note, size: 25}, 592, 18))
		y += 72
	}
	if !last {
		p.text(180, y, words{s: "more on the next sheet", size: 30})
		return
	}
	sum := 0
	for _, l := range x.Lines {
		sum += l.N
	}
	p.box(40, y-36, 732, 3)
	p.textEnd(150, y+24, p.fitted(words{fmt.Sprint(sum), 56, true}, 110, 20))
	p.text(180, y+18, words{"in all", 34, true})
}
