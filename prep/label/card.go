package label

import "strings"

// Card is an action card: a hand in a glove scans it instead of typing.
type Card struct {
	Word string // FINISH-CARTON; set in capitals with spaces
	Says string // what it does
	Code string // what its symbol carries
}

// Pages gives one card with the black edge that the bench's screen shows too.
func (x Card) Pages(dpi int) ([]Layout, error) {
	p := newPage("action card", CardStock, dpi)
	p.box(16, 16, 26, p.high()-32)
	p.text(70, 118, p.fitted(words{strings.ReplaceAll(x.Word, "-", " "), 100, true}, 720, 50))
	p.paragraph(70, 166, words{s: x.Says, size: 29}, 720, 2)
	return p.cardBars(x.Code, 222, 210)
}

// Number is a digit card or a number card.
type Number struct {
	Figure string // 7, or 12
	Says   string // what it is: digit, or pieces
	Code   string
}

// Pages gives one card, its figure as large as the card.
func (x Number) Pages(dpi int) ([]Layout, error) {
	p := newPage("number card", CardStock, dpi)
	p.box(16, 16, 26, p.high()-32)
	figure := p.fitted(words{x.Figure, 330, true}, 270, 120)
	p.textMid(192, p.high()/2+figure.size*36/100, figure)
	s, err := Code128(x.Code)
	if err != nil {
		return nil, err
	}
	dots, err := p.fit(s, p.Size().X-p.u(336+itemEdge))
	if err != nil {
		return nil, err
	}
	p.textEnd(p.wide()-30, 74, p.fitted(words{s: x.Says, size: 40}, 380, 24))
	at := p.barsAmid(s, dots, 336, 110, 310)
	p.below(at, 30)
	return p.done()
}

// Test is the card that shows what a bench's reader and keyboard do to the
// signs of a code.
type Test struct{ Code string }

// Pages gives one long card, since the code has many signs.
func (x Test) Pages(dpi int) ([]Layout, error) {
	p := newPage("test card", LongStock, dpi)
	p.box(16, 16, 26, p.high()-32)
	p.text(70, 118, words{"TEST THE READER", 100, true})
	p.text(70, 172, p.fitted(words{s: "Scan me first at each bench: the screen says what is wrong with reader or keyboard.", size: 29}, p.wide()-90, 20))
	return p.cardBars(x.Code, 222, 210)
}

// cardBars ends a card with its symbol.
func (p *page) cardBars(code string, y, high int) ([]Layout, error) {
	s, err := Code128(code)
	if err != nil {
		return nil, err
	}
	begins := p.u(46) // after the black edge
	dots, err := p.fit(s, p.Size().X-begins-p.u(itemEdge))
	if err != nil {
		return nil, err
	}
	at := p.barsAmid(s, dots, 46, y, high)
	p.below(at, 30)
	return p.done()
}

// Entry is a word and what the floor means by it.
type Entry struct{ Word, Means string }

// Glossary lists the words a new hand has to know, in the order of a day.
var Glossary = []Entry{
	{"piece", "one thing as it is sold"},
	{"lot", "pieces of one item that came together"},
	{"tote", "a numbered bin; one lot, never mixed"},
	{"triage", "to look: prep it, hold it, or send it off"},
	{"recipe", "the steps that one item needs, in order"},
	{"bench", "where one person works; it has a code"},
	{"run", "one tote done by one recipe at one bench"},
	{"mark", "the number of one piece, as M-0019-X"},
	{"pair check", "label and box name the same item"},
	{"spoiled", "damaged here; laid apart, and counted"},
	{"hold", "set aside until a supervisor has looked"},
	{"aside tote", "each bench's place for odd pieces"},
	{"plan", "which pieces leave in which carton"},
	{"pour", "a whole tote goes into one carton"},
	{"blind count", "to count without being told a number"},
	{"question", "numbers that differ; the carton waits"},
	{"seal", "a numbered lock; nothing moves after it"},
	{"load", "the cartons of one truck"},
	{"divert", "goods that leave another way"},
	{"take back", "undo your last action; both stay written"},
}

// Back is the back of a card: the glossary.
type Back struct{}

// Pages gives one page of twenty words in two columns.
func (Back) Pages(dpi int) ([]Layout, error) {
	p := newPage("glossary", CardStock, dpi)
	half := (len(Glossary) + 1) / 2
	for i, e := range Glossary {
		x, y := 24+394*(i/half), 40+47*(i%half)
		p.text(x, y, words{e.Word, 20, true})
		p.text(x, y+21, p.fitted(words{s: e.Means, size: 19}, 376, 18))
	}
	return p.done()
}
