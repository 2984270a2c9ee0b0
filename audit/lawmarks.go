package audit

import "packwright/prep"

// lawMarks is what the laws remember of marks: a byte each for what it may still do,
// in pages, because marks count up; and where those lie that are in cartons whose
// load has not left for good.
type lawMarks struct {
	pages map[prep.Mark]*[lawPage]markLife
	lies  map[prep.Mark]string
}

// lawPage is how many marks stand on a page: few, since benches work on rolls of
// their own.
const lawPage = 128

// markLife is what a mark may still do.
type markLife uint8

const (
	markNew  markLife = iota // never on a unit
	markUsed                 // on one that is here
	markVoid                 // cancelled
	markGone                 // on one that has left the floor
)

func newLawMarks() lawMarks {
	return lawMarks{map[prep.Mark]*[lawPage]markLife{}, map[prep.Mark]string{}}
}

// life says what a mark may still do.
func (l *lawMarks) life(m prep.Mark) markLife {
	if p := l.pages[m/lawPage]; p != nil {
		return p[m%lawPage]
	}
	return markNew
}

// now keeps what a mark may do from here, and the carton it lies in, if in one.
func (l *lawMarks) now(m prep.Mark, life markLife, carton string) {
	p := l.pages[m/lawPage]
	if p == nil {
		p = new([lawPage]markLife)
		l.pages[m/lawPage] = p
	}
	p[m%lawPage] = life
	if carton == "" {
		delete(l.lies, m)
		return
	}
	l.lies[m] = carton
}
