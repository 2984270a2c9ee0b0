package audit

import (
	"slices"
	"sort"

	"packwright/prep"
)

// spans is a set of marks as stretches, rising and apart: no two touch.
type spans []prep.MarkRun

// at gives the first stretch that ends with a mark or after it.
func (s spans) at(m prep.Mark) int {
	return sort.Search(len(s), func(i int) bool { return s[i].To >= m })
}

// add puts a stretch in.
func (s *spans) add(r prep.MarkRun) {
	i := s.at(r.From - min(r.From, 1))
	k := i
	for ; k < len(*s) && (*s)[k].From <= r.To+1; k++ {
		r.From, r.To = min(r.From, (*s)[k].From), max(r.To, (*s)[k].To)
	}
	*s = slices.Replace(*s, i, k, r)
}

// cut takes a stretch out.
func (s *spans) cut(r prep.MarkRun) {
	i := s.at(r.From)
	k := i
	var rest []prep.MarkRun
	for ; k < len(*s) && (*s)[k].From <= r.To; k++ {
		if o := (*s)[k]; o.From < r.From {
			rest = append(rest, prep.MarkRun{From: o.From, To: r.From - 1})
		}
		if o := (*s)[k]; o.To > r.To {
			rest = append(rest, prep.MarkRun{From: r.To + 1, To: o.To})
		}
	}
	*s = slices.Replace(*s, i, k, rest...)
}

// put adds one mark, or takes it out.
func (s *spans) put(m prep.Mark, in bool) {
	if r := (prep.MarkRun{From: m, To: m}); in {
		s.add(r)
	} else {
		s.cut(r)
	}
}

// each gives the marks from one on, rising, until fn has enough.
func (s spans) each(from prep.Mark, fn func(prep.Mark) bool) {
	for _, r := range s[s.at(from):] {
		for m := max(r.From, from); m <= r.To; m++ {
			if !fn(m) {
				return
			}
		}
	}
}

// has says whether a mark is in it.
func (s spans) has(m prep.Mark) bool {
	i := s.at(m)
	return i < len(s) && s[i].From <= m
}
