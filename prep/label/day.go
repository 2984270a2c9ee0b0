package label

import (
	"strings"
)

// Day is the sheet of a floor's day, on paper: a copy of the log's head that is
// kept away from the machine, with what left and what stayed open. Its QR code
// carries Check, so that nobody has to type a root.
type Day struct {
	Floor  string
	Day    string      // "2031-03-04"
	Closed string      // "closed 18:04:30 by maren"
	Head   [][2]string // what, and its value: long ones are broken into lines
	Check  string      // FRAME:ROOT; empty: no head was signed, and there is no code
	Lists  []DayList
	Paper  Stock // of the sheet; zero: A4
}

// DayList is a heading and the rows under it.
type DayList struct {
	Heading string
	Rows    [][4]string
}

// The sheet's measures, in units.
const (
	dayEdge = 120
	dayCode = 330 // side of the square code's place
	dayRow  = 40
)

// daySheet is a sheet while it is set: rows that do not fit go to the next page.
type daySheet struct {
	Day
	name  string
	dpi   int
	p     *page
	y     int
	pages []Layout
}

// Pages gives as many pages as the rows want.
func (x Day) Pages(dpi int) ([]Layout, error) {
	if x.Paper == (Stock{}) {
		x.Paper = A4
	}
	s := &daySheet{Day: x, name: "day sheet", dpi: dpi}
	if err := s.first(); err != nil {
		return nil, err
	}
	for _, l := range x.Lists {
		if err := s.list(l); err != nil {
			return nil, err
		}
	}
	if err := s.turn(false); err != nil {
		return nil, err
	}
	return s.numbered()
}

// first sets the head of the first page: the day, the head of the log, the code.
func (s *daySheet) first() error {
	s.open()
	p := s.p
	wide := p.wide() - 2*dayEdge
	p.text(dayEdge, s.y+50, p.fitted(words{"Day sheet " + s.Day.Day, 64, true}, wide, 40))
	p.text(dayEdge, s.y+100, p.fitted(words{s: strings.TrimSuffix(s.Floor+", "+s.Closed, ", "), size: 34}, wide, 20))
	p.box(dayEdge, s.y+124, wide, 4)
	s.y += 180
	below := s.y
	if s.Check != "" {
		code, err := QR(s.Check)
		if err != nil {
			return err
		}
		dots, err := p.square(code, p.u(dayCode))
		if err != nil {
			return err
		}
		side := code.across() * dots
		x, y := p.Size().X-p.u(dayEdge)-side, p.u(s.y-20)
		p.Parts = append(p.Parts, Placed{Symbol: code, X: x + code.Left*dots, Y: y + code.Left*dots, Dot: dots, High: len(code.Rows) * dots})
		wide -= dayCode + 20
		below += dayCode
	}
	for _, row := range s.Head {
		p.text(dayEdge, s.y, words{row[0], 26, true})
		s.y = s.broken(dayEdge+190, row[1], wide-190) + 12
	}
	s.y = max(s.y, below) + 10
	return nil
}

// broken sets a long value in lines; hashes have no spaces to break at.
func (s *daySheet) broken(x int, value string, width int) int {
	p, y := s.p, s.y
	const size = 26
	for value != "" {
		line := cut(value, false, p.u(size), p.u(width))
		if line == "" {
			break
		}
		p.text(x, y, words{s: line, size: size})
		value, y = value[len(line):], y+leading(size)
	}
	return y
}

// list sets a heading and its rows, on as many pages as it takes.
func (s *daySheet) list(l DayList) error {
	if err := s.room(3 * dayRow); err != nil {
		return err
	}
	s.y += dayRow
	s.p.text(dayEdge, s.y, s.p.fitted(words{l.Heading, 34, true}, s.p.wide()-2*dayEdge, 20))
	s.p.box(dayEdge, s.y+12, s.p.wide()-2*dayEdge, 2)
	s.y += dayRow + 6
	for _, row := range l.Rows {
		if err := s.room(dayRow); err != nil {
			return err
		}
		column := (s.p.wide() - 2*dayEdge) / len(row)
		for i, word := range row {
			room := column
			if i+1 == len(row) || row[i+1] == "" && i+2 == len(row) {
				room = s.p.wide() - dayEdge - (dayEdge + i*column)
			}
			s.p.text(dayEdge+i*column, s.y, s.p.fitted(words{s: word, size: 30}, room-10, 18))
		}
		s.y += dayRow
	}
	return nil
}

// room turns the page when less than so much is left.
func (s *daySheet) room(high int) error {
	if s.y+high < s.p.high()-dayEdge {
		return nil
	}
	return s.turn(true)
}

func (s *daySheet) open() { s.p, s.y = newPage(s.name, s.Paper, s.dpi), dayEdge }

// turn ends a page, and begins another when more is to come.
func (s *daySheet) turn(more bool) error {
	pages, err := s.p.done()
	if err != nil {
		return err
	}
	s.pages = append(s.pages, pages...)
	if more {
		s.open()
	}
	return nil
}
