package workflow

import (
	"cmp"
	"slices"

	"packwright/prep"
)

// Span is a closed range of numbers.
type Span struct {
	From uint64 `json:"from"`
	To   uint64 `json:"to"`
}

// spans is a sorted list of ranges that neither touch nor overlap: numbers that
// come in order cost one range, however many they are.
type spans []Span

func (s spans) has(n uint64) bool {
	i, ok := slices.BinarySearchFunc(s, n, func(a Span, n uint64) int { return cmp.Compare(a.From, n) })
	return ok || i > 0 && s[i-1].To >= n
}

func (s spans) add(n uint64) spans {
	i, ok := slices.BinarySearchFunc(s, n, func(a Span, n uint64) int { return cmp.Compare(a.From, n) })
	if ok || i > 0 && s[i-1].To >= n {
		return s
	}
	joinsLeft := i > 0 && s[i-1].To+1 == n
	joinsRight := i < len(s) && s[i].From == n+1
	switch {
	case joinsLeft && joinsRight:
		s[i-1].To = s[i].To
		return slices.Delete(s, i, i+1)
	case joinsLeft:
		s[i-1].To = n
		return s
	case joinsRight:
		s[i].From = n
		return s
	}
	return slices.Insert(s, i, Span{n, n})
}

// KeptNumbers are the command numbers of one station and epoch that are in the
// log: once, for ever, at a memory per bench and not per command.
type KeptNumbers struct {
	Kept spans `json:"kept"`
}

// MarkSet is a set of marks that come mostly in runs.
type MarkSet struct {
	Marks spans `json:"marks,omitempty"`
}

// Has says whether m is in the set.
func (s *MarkSet) Has(m prep.Mark) bool { return s.Marks.has(uint64(m)) }

// Add puts marks in.
func (s *MarkSet) Add(marks ...prep.Mark) {
	for _, m := range marks {
		s.Marks = s.Marks.add(uint64(m))
	}
}

// Remove takes a mark out.
func (s *MarkSet) Remove(m prep.Mark) {
	n := uint64(m)
	for i, r := range s.Marks {
		if n < r.From || n > r.To {
			continue
		}
		var parts []Span
		if r.From < n {
			parts = append(parts, Span{r.From, n - 1})
		}
		if n < r.To {
			parts = append(parts, Span{n + 1, r.To})
		}
		s.Marks = slices.Replace(s.Marks, i, i+1, parts...)
		return
	}
}
