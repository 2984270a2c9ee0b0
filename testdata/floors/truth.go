package floors

import (
	"packwright/prep"
)

// Places that no command names.
const (
	truck = "(truck)"
	away  = "(away)" // another channel, the bin, the customer
)

// piece is one thing that a hand can hold. Its item is what it is, whatever
// label sticks on it.
type piece struct {
	item   string
	lot    string
	where  string
	ready  bool      // prepped
	mark   prep.Mark // on the label that sticks on it
	serial string    // the maker's
	grams  float64
}

// truth is where everything really is.
type truth struct{ pieces []*piece }

// find lists the pieces a test holds for, in the order they came.
func (t *truth) find(is func(*piece) bool) (out []*piece) {
	for _, p := range t.pieces {
		if is(p) {
			out = append(out, p)
		}
	}
	return out
}

// in lists the pieces in a place, of an item unless it is empty.
func (t *truth) in(where, item string) []*piece {
	return t.find(func(p *piece) bool { return p.where == where && (item == "" || p.item == item) })
}

// marked finds the piece that bears a label, or nil.
func (t *truth) marked(m prep.Mark) *piece {
	for _, p := range t.pieces {
		if p.mark == m && p.where != away {
			return p
		}
	}
	return nil
}

// move puts pieces somewhere else.
func move(pieces []*piece, where string) {
	for _, p := range pieces {
		p.where = where
	}
}

// count says how many pieces of each item lie in a place.
func (t *truth) count(where string) map[string]int {
	n := map[string]int{}
	for _, p := range t.in(where, "") {
		n[p.item]++
	}
	return n
}

// grams weighs what lies in a place.
func (t *truth) grams(where string) (g float64) {
	for _, p := range t.in(where, "") {
		g += p.grams
	}
	return g
}
