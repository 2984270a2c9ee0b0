package prep

import (
	"math"
	"math/big"
)

// AcceptShare is the chance that a lot from a stream with the share p of bad
// pieces is accepted by a plan of n pieces and up to ac bad: the binomial sum
// Σ C(n,k)·p^k·(1-p)^(n-k), k = 0..ac.
func AcceptShare(n, ac int, p float64) float64 {
	switch {
	case ac >= n || p <= 0:
		return 1
	case p >= 1:
		return 0
	}
	sum, lg := 0.0, lgamma(n)
	for k := 0; k <= ac; k++ {
		sum += math.Exp(lg - lgamma(k) - lgamma(n-k) + float64(k)*math.Log(p) + float64(n-k)*math.Log1p(-p))
	}
	return min(sum, 1)
}

// lgamma is ln n!.
func lgamma(n int) float64 {
	v, _ := math.Lgamma(float64(n) + 1)
	return v
}

// QualityAt is the share of bad pieces at which a plan accepts with chance pa:
// the inverse of AcceptShare, by halving.
func QualityAt(n, ac int, pa float64) float64 {
	low, high := 0.0, 1.0
	for range 60 {
		mid := (low + high) / 2
		if AcceptShare(n, ac, mid) > pa {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}

// AcceptLot is the exact chance that one lot with this many bad pieces is
// accepted: the hypergeometric sum Σ C(D,k)·C(N-D,n-k)/C(N,n), k = 0..ac.
func AcceptLot(lot, bad, n, ac int) *big.Rat {
	sum, c := new(big.Int), new(big.Int)
	for k := max(0, n-(lot-bad)); k <= min(ac, n, bad); k++ {
		term := new(big.Int).Binomial(int64(bad), int64(k))
		sum.Add(sum, term.Mul(term, c.Binomial(int64(lot-bad), int64(n-k))))
	}
	return new(big.Rat).SetFrac(sum, c.Binomial(int64(lot), int64(n)))
}

// Operating is a point of a plan's operating characteristic: lots with this
// share of bad pieces are accepted with this chance.
type Operating struct {
	Accept  Fixed `json:"accept"`
	Percent Fixed `json:"percent_bad"`
}

// OperatingPoints gives the usual nine points of a plan.
func OperatingPoints(n, ac int) []Operating {
	var out []Operating
	for _, pa := range []float64{.99, .95, .90, .75, .50, .25, .10, .05, .01} {
		out = append(out, Operating{FixedOf(pa), FixedOf(100 * QualityAt(n, ac, pa))})
	}
	return out
}
