package workflow

import (
	"strings"
	"unicode"
)

// # Who is blind
//
// A station is blind
//
//   - from FINISH CARTON until a count is in, when the carton is its own, whatever
//     else its hands do meanwhile;
//   - as long as a finished carton without certificate lies in the hand of its
//     reading machine to be counted: also when a count is in that disagreed, for
//     the next must be as fresh as the first, and also when the carton is another
//     bench's that was brought here.
//
// So a bench whose carton waits for the supervisor puts it down by taking another
// in hand, sees again, and is blind again when it takes the first one up.
//
// To a blind station goes nothing that tells what was planned, scanned or
// expected, or by how much a reading is off. Its page is drawn from a [CountSheet],
// which has no number in it; its sentences pass the veil; other routes are shut.

// Blind says whether a station is blind. Counting is the carton that its reading
// machine has in hand to count, or "".
func (f *Floor) Blind(station, counting string) bool { return f.countedAt(station, counting) != nil }

// countedAt gives the carton that makes a station blind, or nil.
func (f *Floor) countedAt(station, counting string) *Carton {
	if c := f.Cartons[counting]; c != nil && c.State == CartonCounting {
		return c
	}
	var found *Carton
	for _, c := range f.Cartons {
		if c.Bench == station && c.State == CartonCounting && c.Count == nil && (found == nil || c.Carton < found.Carton) {
			found = c
		}
	}
	return found
}

// Counting is the carton that this bench has in hand to count, or "".
func (b *Bench) Counting() string {
	if b.Hand != HandCount {
		return ""
	}
	return b.Carton
}

// CountSheet is all that a bench may show while it is blind.
type CountSheet struct {
	Carton string      `json:"carton"`
	Lines  []CountItem `json:"lines,omitempty"`  // one a kind, when there are several
	Typed  string      `json:"typed,omitempty"`  // the digits that the counter has given so far
	Asks   string      `json:"asks,omitempty"`   // the kind whose number comes next
	InHand bool        `json:"in_hand"`          // what is scanned now is for it
	Scale  bool        `json:"scale,omitempty"`  // the scale is waited for
	Second bool        `json:"second,omitempty"` // another person counts
}

// CountItem is one kind in a carton, by its name; Counted says that the counter
// has given its number.
type CountItem struct {
	Item    string `json:"item"`
	Name    string `json:"name"`
	Counted bool   `json:"counted,omitempty"`
}

// CountSheet gives what a blind bench may show; ok is false when it is not blind.
func (b *Bench) CountSheet(f *Floor) (s CountSheet, ok bool) {
	c := f.countedAt(b.Station, b.Counting())
	if c == nil {
		return s, false
	}
	s = CountSheet{Carton: c.Carton, Typed: b.Number, Second: c.Count != nil && !b.recount(f, c)}
	if b.Counting() == c.Carton {
		s.InHand, s.Scale, s.Asks = true, !b.handCounts(f, c), b.Line
	}
	lines := f.scannedLines(c)
	if len(lines) < 2 {
		return s, true
	}
	for _, l := range lines {
		it := CountItem{Item: l.Item, Name: l.Item}
		if known := f.Items[l.Item]; known != nil {
			it.Name = known.Name
		}
		for _, given := range b.Lines {
			it.Counted = it.Counted || given.Item == l.Item
		}
		s.Lines = append(s.Lines, it)
	}
	return s, true
}

// Veil keeps numbers from a blind bench. What is no code of a thing and not the
// digits that the counter has just given is not said at all: a sentence about
// something else may hold, by chance or by arithmetic, what must not be known.
func (b *Bench) Veil(f *Floor, s Said) Said {
	c := f.countedAt(b.Station, b.Counting())
	if c == nil || b.tellsNothing(s.Text) && b.tellsNothing(s.Next) {
		return s
	}
	s.Text, s.Next = c.Carton+" is being counted.", "First its count."
	return s
}

// tellsNothing says whether a sentence has no number but codes and the counter's own.
func (b *Bench) tellsNothing(text string) bool {
	for word := range strings.FieldsSeq(text) {
		word = strings.TrimFunc(word, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
		if !strings.ContainsFunc(word, unicode.IsDigit) || word == b.Number {
			continue
		}
		if prefix, _, code := strings.Cut(word, "-"); !code || !plainLetters(prefix) {
			return false
		}
	}
	return true
}

func plainLetters(s string) bool {
	return s != "" && strings.IndexFunc(s, func(r rune) bool { return !unicode.IsLetter(r) }) < 0
}
