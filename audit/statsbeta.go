package audit

import "math"

// incompleteBeta is I_x(a, b), the regularised incomplete beta function for
// a, b > 0, by the continued fraction of DLMF 8.17.22 (dlmf.nist.gov/8.17.v),
// evaluated by the modified Lentz method. The fraction converges fast for
// x < (a+1)/(a+b+2); beyond, I_x(a,b) = 1 − I_{1−x}(b,a) is used.
func incompleteBeta(x, a, b float64) float64 {
	switch {
	case x <= 0:
		return 0
	case x >= 1:
		return 1
	case x > (a+1)/(a+b+2):
		return 1 - incompleteBeta(1-x, b, a)
	}
	la, _ := math.Lgamma(a)
	lb, _ := math.Lgamma(b)
	lab, _ := math.Lgamma(a + b)
	front := math.Exp(lab - la - lb + a*math.Log(x) + b*math.Log1p(-x))
	return front / a / betaFraction(x, a, b)
}

// betaFraction is 1 + d1/(1 + d2/(1 + …)) with
//
//	d(2m)   =  m(b−m)x / ((a+2m−1)(a+2m))
//	d(2m+1) = −(a+m)(a+b+m)x / ((a+2m)(a+2m+1))
func betaFraction(x, a, b float64) float64 {
	const tiny, enough = 1e-300, 1e-15
	f, c, d := 1.0, 1.0, 0.0
	for i := 1; i < 100_000; i++ {
		m := float64(i / 2)
		term := m * (b - m) * x / ((a + 2*m - 1) * (a + 2*m))
		if i%2 == 1 {
			term = -(a + m) * (a + b + m) * x / ((a + 2*m) * (a + 2*m + 1))
		}
		if d = 1 + term*d; math.Abs(d) < tiny {
			d = tiny
		}
		if c = 1 + term/c; math.Abs(c) < tiny {
			c = tiny
		}
		d = 1 / d
		f *= c * d
		if math.Abs(c*d-1) < enough {
			break
		}
	}
	return f
}

// betaQuantile is the x with I_x(a, b) = p, by halving: I rises with x.
func betaQuantile(p, a, b float64) float64 {
	low, high := 0.0, 1.0
	for range 80 {
		mid := (low + high) / 2
		if incompleteBeta(mid, a, b) < p {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}
