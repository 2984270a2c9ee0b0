package label

import "fmt"

// Paper is a statement for somebody elsewhere, on as many pages as it wants: a
// title, and chapters of terms with what is said of each. Nothing is shortened:
// what is long is broken into lines. With Check its first page carries a QR code.
type Paper struct {
	Title    string
	Under    string // one line below the title
	Check    string
	Chapters []PaperChapter
	Paper    Stock // of the sheet; zero: A4
}

// PaperChapter is a heading and its rows: a term, and what is said of it.
type PaperChapter struct {
	Heading string
	Rows    [][2]string
}

const paperTerm = 400 // the column of terms, in units

// Pages gives as many pages as the chapters want.
func (x Paper) Pages(dpi int) ([]Layout, error) {
	if x.Paper == (Stock{}) {
		x.Paper = A4
	}
	s := &daySheet{Day: Day{Paper: x.Paper}, dpi: dpi, name: "statement"}
	s.open()
	if err := s.title(x); err != nil {
		return nil, err
	}
	for _, c := range x.Chapters {
		if err := s.chapter(c); err != nil {
			return nil, err
		}
	}
	if err := s.turn(false); err != nil {
		return nil, err
	}
	return s.numbered()
}

// title sets the first page's head, with the code at its right.
func (s *daySheet) title(x Paper) error {
	p, wide := s.p, s.p.wide()-2*dayEdge
	if x.Check != "" {
		code, err := QR(x.Check)
		if err != nil {
			return err
		}
		dots, err := p.square(code, p.u(dayCode))
		if err != nil {
			return err
		}
		at, y := p.Size().X-p.u(dayEdge)-code.across()*dots, p.u(s.y-20)
		p.Parts = append(p.Parts, Placed{Symbol: code, X: at + code.Left*dots, Y: y + code.Left*dots, Dot: dots, High: len(code.Rows) * dots})
		wide -= dayCode + 20
	}
	p.text(dayEdge, s.y+50, p.fitted(words{x.Title, 56, true}, wide, 24))
	p.text(dayEdge, s.y+100, p.fitted(words{s: x.Under, size: 30}, wide, 18))
	s.y += 140
	if x.Check != "" {
		s.y += dayCode - 140
	}
	return nil
}

// chapter sets a heading and its rows.
func (s *daySheet) chapter(c PaperChapter) error {
	if err := s.room(4 * dayRow); err != nil {
		return err
	}
	s.y += dayRow
	s.p.text(dayEdge, s.y, s.p.fitted(words{c.Heading, 32, true}, s.p.wide()-2*dayEdge, 18))
	s.p.box(dayEdge, s.y+12, s.p.wide()-2*dayEdge, 2)
	s.y += dayRow + 6
	for _, row := range c.Rows {
		if err := s.said(row[0], row[1]); err != nil {
			return err
		}
	}
	return nil
}

// said sets a term beside what is said of it, line by line.
func (s *daySheet) said(term, says string) error {
	const size = 26
	wide := s.p.wide() - 2*dayEdge
	left := wrap(term, true, s.p.u(size), s.p.u(paperTerm-20))
	right := wrap(says, false, s.p.u(size), s.p.u(wide-paperTerm))
	for i := range max(len(left), len(right)) {
		if err := s.room(leading(size)); err != nil {
			return err
		}
		if i < len(left) {
			s.p.text(dayEdge, s.y, words{left[i], size, true})
		}
		if i < len(right) {
			s.p.text(dayEdge+paperTerm, s.y, words{s: right[i], size: size})
		}
		s.y += leading(size)
	}
	s.y += 10
	return nil
}

// numbered puts the page's number at the foot of each.
func (s *daySheet) numbered() ([]Layout, error) {
	for i := range s.pages {
		at := &page{Layout: s.pages[i], stock: s.Paper}
		at.textEnd(at.wide()-dayEdge, at.high()-dayEdge/2, words{s: fmt.Sprintf("page %d of %d", i+1, len(s.pages)), size: 26})
		done, err := at.done()
		if err != nil {
			return nil, err
		}
		s.pages[i] = done[0]
	}
	return s.pages, nil
}
