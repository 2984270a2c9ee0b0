package prep

import (
	"math/bits"
	"slices"
	"strings"
)

// largestProduct is the most combinations that are walked for one group of
// rules; it keeps a proof within seconds.
const largestProduct = 4_000_000

// product is every combination of answers to some facts. The other facts stay
// unknown.
type product struct {
	facts   []int
	answers [][]answer // of each fact
}

// answer is one value of a fact.
type answer struct {
	mask uint16
	num  int64
}

// productOf is every combination of the facts that the rules read, numbers by
// one value from between each two thresholds.
func (p *proof) productOf(rules []int) *product {
	out := &product{}
	cuts := map[int][]int64{}
	for _, i := range rules {
		p.c.rules[i].when.each(func(t *readyTest) {
			out.include(t.fact)
			if t.number {
				cuts[t.fact] = append(cuts[t.fact], t.lo)
				if t.hi < largestQuantity {
					cuts[t.fact] = append(cuts[t.fact], t.hi+1)
				}
			}
		})
	}
	for i, f := range out.facts {
		if facts[f].kind != asWords {
			out.answers[i] = numberAnswers(f, cuts[f])
		}
	}
	return out
}

// include adds a word fact, or a number fact that is only unknown or known.
func (q *product) include(fact int) {
	if slices.Contains(q.facts, fact) {
		return
	}
	q.facts = append(q.facts, fact)
	if facts[fact].kind != asWords {
		q.answers = append(q.answers, numberAnswers(fact, nil))
		return
	}
	q.answers = append(q.answers, wordAnswers(fact))
}

// numberAnswers gives unknown and one value of each interval; known numbers
// are at least 1, and the size of a set is always known.
func numberAnswers(fact int, cuts []int64) []answer {
	values := append(slices.Clone(cuts), 1)
	slices.Sort(values)
	var out []answer
	if fact != factSetOf {
		out = append(out, answer{mask: bitUnknown})
	}
	for _, v := range slices.Compact(values) {
		if v >= 1 && v <= largestQuantity {
			out = append(out, answer{bitKnown, v})
		}
	}
	return out
}

// wordAnswers gives one answer a word; for a set, one for each set of words
// that can be true together.
func wordAnswers(fact int) []answer {
	n := len(facts[fact].words)
	var out []answer
	switch {
	case fact == factUses: // none of them, or any of them together
		for set := uint16(0); set < 1<<n; set += 2 {
			out = append(out, answer{mask: set})
		}
	case fact < len(attributes) && attributes[fact].many:
		out = append(out, answer{mask: 1 << 0}, answer{mask: uint16(PrintedNone)})
		for set := uint16(PrintedNone) << 1; set < 1<<n; set += uint16(PrintedNone) << 1 {
			out = append(out, answer{mask: set})
		}
	default:
		for i := range n {
			out = append(out, answer{mask: 1 << i})
		}
	}
	return out
}

func (q *product) size() int {
	n := 1
	for _, a := range q.answers {
		if n > largestProduct {
			break
		}
		n *= len(a)
	}
	return n
}

// each calls visit with every combination until it returns false. The
// knowledge is reused from call to call.
func (q *product) each(visit func(*knowledge) bool) {
	k := &knowledge{}
	for i := range k.mask {
		k.mask[i] = bitUnknown
	}
	at := make([]int, len(q.facts))
	for {
		for i, f := range q.facts {
			k.mask[f], k.num[f] = q.answers[i][at[i]].mask, q.answers[i][at[i]].num
		}
		if !visit(k) {
			return
		}
		i := 0
		for ; i < len(at); i++ {
			if at[i]++; at[i] < len(q.answers[i]) {
				break
			}
			at[i] = 0
		}
		if i == len(at) {
			return
		}
	}
}

func (q *product) named() string {
	names := make([]string, len(q.facts))
	for i, f := range q.facts {
		names[i] = facts[f].name
	}
	slices.Sort(names)
	return strings.Join(names, ", ")
}

// told says a combination in words.
func (q *product) told(k *knowledge) string {
	var parts []string
	for _, f := range q.facts {
		if facts[f].kind == asWords && bits.OnesCount16(k.mask[f]) == 0 {
			continue
		}
		parts = append(parts, facts[f].told(k, f))
	}
	slices.Sort(parts)
	return strings.Join(parts, ", ")
}
