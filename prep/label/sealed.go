package label

import (
	"strconv"

	"packwright/prep"
)

// KeepSealed is our own label on a pack that must not be opened. Where there is
// one it carries the mark: others read the item label, this one only the floor.
type KeepSealed struct {
	Mark prep.Mark // 0: none
	Name string    // of the item, short
	Run  string
	QR   bool // a QR code instead of a Data Matrix
}

// Pages gives one small label.
func (x KeepSealed) Pages(dpi int) ([]Layout, error) {
	return sealed{"keep-sealed label", "Keep sealed", "Do not open this pack.", x.Mark, x.Name, x.Run, x.QR}.pages(dpi)
}

// SoldAsOne is the label of a set: its pieces are one thing for sale.
type SoldAsOne struct {
	Pieces int       // 0: not said
	Mark   prep.Mark // 0: none
	Name   string
	Run    string
	QR     bool
}

// Pages gives one small label.
func (x SoldAsOne) Pages(dpi int) ([]Layout, error) {
	if x.Pieces == 1 || x.Pieces < 0 {
		return nil, prep.Input("a set of "+strconv.Itoa(x.Pieces), "a set has two pieces or more")
	}
	of := "One set. Do not part it."
	if x.Pieces > 0 {
		of = "Set of " + strconv.Itoa(x.Pieces) + ". Do not part it."
	}
	return sealed{"sold-as-one label", "Sold as one", of, x.Mark, x.Name, x.Run, x.QR}.pages(dpi)
}

// sealed is what the two have alike.
type sealed struct {
	title, head, line string
	mark              prep.Mark
	name, run         string
	qr                bool
}

func (x sealed) pages(dpi int) ([]Layout, error) {
	p := newPage(x.title, Small, dpi)
	p.box(20, 20, 24, 214)
	p.text(66, 62, p.fitted(words{x.head, 48, true}, 375, 40))
	p.text(66, 96, p.fitted(words{s: x.line, size: 25}, 375, 20))
	if x.mark == 0 {
		p.box(66, 120, 371, 3)
		p.paragraph(66, 166, words{x.name, 32, true}, 371, 2)
		p.text(66, 232, p.fitted(words{s: x.run, size: 22}, 371, 18))
		return p.done()
	}
	right, err := x.square(p)
	if err != nil {
		return nil, err
	}
	p.box(66, 116, right-66, 3)
	p.text(66, 168, p.fitted(words{x.mark.Display(), 52, true}, right-66, 20))
	p.text(66, 202, p.fitted(words{s: x.name, size: 24}, right-66, 19))
	p.text(66, 230, p.fitted(words{s: x.run, size: 22}, right-66, 18))
	return p.done()
}

// square puts the code of the mark into the lower right corner and says where
// its quiet zone begins, in units.
func (x sealed) square(p *page) (begins int, err error) {
	encode := DataMatrix
	if x.qr {
		encode = QR
	}
	s, err := encode(x.mark.Code())
	if err != nil {
		return 0, err
	}
	dots, err := p.square(s, p.u(130))
	if err != nil {
		return 0, err
	}
	edge := p.u(6)
	at := Placed{Symbol: s, Dot: dots, X: p.Size().X - edge - (s.modules()+s.Right)*dots, Y: p.Size().Y - edge - (s.modules()+s.Right)*dots}
	p.Parts = append(p.Parts, at)
	return at.place().Min.X*203/p.DPI - 2, nil
}
