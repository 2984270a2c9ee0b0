package audit

import (
	"math"
	"math/big"
	"slices"
)

// Tally is a share in numbers: Bad of Of. The functions of this file are pure,
// compare things and never people, and give no answer (false) for a tally that
// cannot be: none looked at, or more bad than were looked at.
type Tally struct {
	Bad int `json:"bad"`
	Of  int `json:"of"`
}

func (t Tally) valid() bool { return t.Of > 0 && t.Bad >= 0 && t.Bad <= t.Of }

// Rate is Bad/Of.
func (t Tally) Rate() float64 { return float64(t.Bad) / float64(t.Of) }

// Interval is two ends of a range that a rate, or a difference of rates, may have.
type Interval struct {
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

// Z95 is the two-sided 95 % point of the standard normal.
const Z95 = 1.959963984540054

// Wilson is the score interval of a rate, without continuity correction
// (E. B. Wilson, J. Am. Stat. Assoc. 22, 1927, 209–212):
//
//	(p + z²/2n ± z·√(p(1−p)/n + z²/4n²)) / (1 + z²/n)
//
// It stays within 0 and 1, and at 0 of n it is not empty.
func Wilson(t Tally, z float64) (Interval, bool) {
	if !t.valid() {
		return Interval{}, false
	}
	n, p := float64(t.Of), t.Rate()
	mid := p + z*z/(2*n)
	half := z * math.Sqrt(p*(1-p)/n+z*z/(4*n*n))
	in := Interval{(mid - half) / (1 + z*z/n), (mid + half) / (1 + z*z/n)}
	if t.Bad == 0 {
		in.Low = 0
	}
	if t.Bad == t.Of {
		in.High = 1
	}
	return in, true
}

// Newcombe is the interval of the difference a − b of two independent rates by
// the hybrid of their Wilson intervals (R. G. Newcombe, Statistics in Medicine
// 17, 1998, 873–890, method 10):
//
//	d − √((pa−la)² + (ub−pb)²)  to  d + √((ua−pa)² + (pb−lb)²)
func Newcombe(a, b Tally, z float64) (Interval, bool) {
	wa, oka := Wilson(a, z)
	wb, okb := Wilson(b, z)
	if !oka || !okb {
		return Interval{}, false
	}
	pa, pb := a.Rate(), b.Rate()
	return Interval{pa - pb - math.Hypot(pa-wa.Low, wb.High-pb), pa - pb + math.Hypot(wa.High-pa, pb-wb.Low)}, true
}

// ClopperPearson is the interval whose ends the binomial itself puts at
// (1−conf)/2 on either side (C. J. Clopper, E. S. Pearson, Biometrika 26, 1934,
// 404–413), as quantiles of the beta distribution.
func ClopperPearson(t Tally, conf float64) (Interval, bool) {
	if !t.valid() || conf <= 0 || conf >= 1 {
		return Interval{}, false
	}
	tail := (1 - conf) / 2
	k, n := float64(t.Bad), float64(t.Of)
	in := Interval{0, 1}
	if t.Bad > 0 {
		in.Low = betaQuantile(tail, k, n-k+1)
	}
	if t.Bad < t.Of {
		in.High = betaQuantile(1-tail, k+1, n-k)
	}
	return in, true
}

// BinomialTail is the chance of t.Bad or more bad among t.Of when each is bad
// with chance p of its own: I_p(k, n−k+1), the regularised incomplete beta.
func BinomialTail(t Tally, p float64) (float64, bool) {
	switch {
	case !t.valid() || !(p >= 0 && p <= 1):
		return 0, false
	case t.Bad == 0:
		return 1, true
	}
	return incompleteBeta(p, float64(t.Bad), float64(t.Of-t.Bad+1)), true
}

// Fisher is the exact test of a 2×2 table with fixed margins (R. A. Fisher, The
// Design of Experiments, 1935).
type Fisher struct {
	Observed *big.Rat // of just this table
	More     *big.Rat // one-sided: a has as many bad as seen, or more
	TwoSided *big.Rat // all tables no likelier than this one
}

// FisherExact compares the bad of a with those of b in exact rationals.
func FisherExact(a, b Tally) (Fisher, bool) {
	if !a.valid() || !b.valid() {
		return Fisher{}, false
	}
	bad := a.Bad + b.Bad
	ways := func(k int) *big.Int { // tables in which a has k bad
		n := new(big.Int).Binomial(int64(a.Of), int64(k))
		return n.Mul(n, new(big.Int).Binomial(int64(b.Of), int64(bad-k)))
	}
	all, seen := new(big.Int).Binomial(int64(a.Of+b.Of), int64(bad)), ways(a.Bad)
	more, rare := new(big.Int), new(big.Int)
	for k := max(0, bad-b.Of); k <= min(bad, a.Of); k++ {
		n := ways(k)
		if k >= a.Bad {
			more.Add(more, n)
		}
		if n.Cmp(seen) <= 0 {
			rare.Add(rare, n)
		}
	}
	over := func(n *big.Int) *big.Rat { return new(big.Rat).SetFrac(n, all) }
	return Fisher{over(seen), over(more), over(rare)}, true
}

// Holm adjusts chances for how many were tested (S. Holm, Scandinavian Journal
// of Statistics 6, 1979, 65–70): the i-th smallest of m is multiplied by m−i+1,
// never falls below the one before it and never passes 1. The order is kept.
func Holm(p []float64) []float64 {
	order := make([]int, len(p))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case p[a] < p[b]:
			return -1
		case p[a] > p[b]:
			return 1
		}
		return 0
	})
	out := make([]float64, len(p))
	least := 0.0
	for i, at := range order {
		least = max(least, min(1, p[at]*float64(len(p)-i)))
		out[at] = least
	}
	return out
}
