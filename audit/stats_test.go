package audit_test

import (
	"math"
	"math/big"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"packwright/audit"
	"packwright/prep"
)

// published reads the rows of one kind in testdata/checks/statistics.txt.
func published(t *testing.T, kind string, fn func(c checked)) {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("..", "testdata", "checks", "statistics.txt"))
	if err != nil {
		t.Fatal(err)
	}
	source, n := "", 0
	for i, text := range strings.Split(string(b), "\n") {
		if s, ok := strings.CutPrefix(text, "source: "); ok {
			source = s
			continue
		}
		col := strings.Split(text, "|")
		for j := range col {
			col[j] = strings.TrimSpace(col[j])
		}
		if col[0] != kind || strings.HasPrefix(text, "#") {
			continue
		}
		if source == "" {
			t.Fatalf("line %d has no source", i+1)
		}
		n++
		fn(checked{t, i + 1, source, col[1:]})
	}
	if n == 0 {
		t.Fatalf("no rows %q", kind)
	}
}

type checked struct {
	t      *testing.T
	line   int
	source string
	col    []string
}

func (c checked) num(i int) float64 {
	f, err := strconv.ParseFloat(c.col[i], 64)
	if err != nil {
		c.t.Fatalf("line %d: %v", c.line, err)
	}
	return f
}

func (c checked) tally(i int) audit.Tally {
	return audit.Tally{Bad: int(c.num(i)), Of: int(c.num(i + 1))}
}

// want compares to half of the last digit that was printed.
func (c checked) want(i int, got float64) {
	c.t.Helper()
	_, frac, _ := strings.Cut(c.col[i], ".")
	within := 0.5000001 * math.Pow(10, -float64(len(frac)))
	if strings.Contains(c.source, "msn0") {
		within *= 2 // it cuts digits off and does not round
	}
	if frac == "" || len(frac) > 13 {
		within = 1e-13
	}
	if d := math.Abs(got - c.num(i)); !(d <= within) {
		c.t.Errorf("line %d: %v, want %s by %s", c.line, got, c.col[i], c.source)
	}
}

func TestPublishedIntervals(t *testing.T) {
	for kind, fn := range map[string]func(audit.Tally) (audit.Interval, bool){
		"wilson":    func(x audit.Tally) (audit.Interval, bool) { return audit.Wilson(x, audit.Z95) },
		"wilson196": func(x audit.Tally) (audit.Interval, bool) { return audit.Wilson(x, 1.96) },
		"exact":     func(x audit.Tally) (audit.Interval, bool) { return audit.ClopperPearson(x, .95) },
	} {
		published(t, kind, func(c checked) {
			in, ok := fn(c.tally(0))
			if !ok {
				t.Fatalf("line %d has no answer", c.line)
			}
			c.want(2, in.Low)
			c.want(3, in.High)
		})
	}
	published(t, "newcombe", func(c checked) {
		a, b := c.tally(0), c.tally(2)
		in, ok := audit.Newcombe(a, b, audit.Z95)
		if !ok {
			t.Fatalf("line %d has no answer", c.line)
		}
		c.want(4, a.Rate()-b.Rate())
		c.want(5, in.Low)
		c.want(6, in.High)
	})
}

func TestPublishedFisher(t *testing.T) {
	published(t, "fisher", func(c checked) {
		f, ok := audit.FisherExact(c.tally(0), c.tally(2))
		if !ok {
			t.Fatalf("line %d has no answer", c.line)
		}
		got := map[string]*big.Rat{"observed": f.Observed, "more": f.More, "two-sided": f.TwoSided}[c.col[4]]
		if strings.Contains(c.col[5], "/") {
			if got.RatString() != c.col[5] {
				t.Errorf("line %d: %s, want %s", c.line, got.RatString(), c.col[5])
			}
			return
		}
		p, _ := got.Float64()
		c.want(5, p)
	})
}

func TestPublishedTailsAndHolm(t *testing.T) {
	published(t, "tail", func(c checked) {
		p, _ := audit.BinomialTail(c.tally(0), c.num(2))
		c.want(3, p)
	})
	published(t, "zero", func(c checked) {
		plan, err := prep.ZeroBad(int(c.num(0)), int(c.num(1)), prep.FixedOf(c.num(2)))
		if err != nil || float64(plan.Sample) != c.num(3) {
			t.Errorf("line %d: %+v, %v", c.line, plan, err)
		}
	})
	published(t, "holm", func(c checked) {
		var p []float64
		for _, s := range strings.Fields(c.col[0]) {
			f, _ := strconv.ParseFloat(s, 64)
			p = append(p, f)
		}
		got := audit.Holm(p)
		for i, s := range strings.Fields(c.col[1]) {
			if f, _ := strconv.ParseFloat(s, 64); math.Abs(got[i]-f) > 1e-12 {
				t.Errorf("line %d: %v, want %s", c.line, got, c.col[1])
			}
		}
	})
}

// TestTailIsTheSum: the continued fraction against the sum of exact rationals,
// from a handful of pieces to some thousands.
func TestTailIsTheSum(t *testing.T) {
	for _, n := range []int{1, 2, 7, 33, 240} {
		for _, perMille := range []int64{1, 15, 200, 500, 990} {
			p := big.NewRat(perMille, 1000)
			num, den := big.NewInt(perMille), big.NewInt(1000)
			not := big.NewInt(1000 - perMille)
			all := new(big.Int).Exp(den, big.NewInt(int64(n)), nil)
			for _, k := range []int{0, 1, min(2, n), n / 2, n} {
				sum := new(big.Int)
				for i := k; i <= n; i++ {
					w := new(big.Int).Binomial(int64(n), int64(i))
					w.Mul(w, new(big.Int).Exp(num, big.NewInt(int64(i)), nil))
					sum.Add(sum, w.Mul(w, new(big.Int).Exp(not, big.NewInt(int64(n-i)), nil)))
				}
				want, _ := new(big.Rat).SetFrac(sum, all).Float64()
				f, _ := p.Float64()
				got, ok := audit.BinomialTail(audit.Tally{Bad: k, Of: n}, f)
				if !ok || math.Abs(got-want) > 1e-11*max(want, 1e-3) {
					t.Errorf("%d of %d at %v: %v, want %v", k, n, f, got, want)
				}
			}
		}
	}
}

// TestIntervalsCover: the exact interval's ends give just the tails asked for,
// and swapping good for bad turns every interval round.
func TestIntervalsCover(t *testing.T) {
	for _, x := range []audit.Tally{{Bad: 1, Of: 9}, {Bad: 3, Of: 33}, {Bad: 12, Of: 400}, {Bad: 7, Of: 7}, {Bad: 0, Of: 5}} {
		in, _ := audit.ClopperPearson(x, .9)
		if x.Bad > 0 {
			if p, _ := audit.BinomialTail(x, in.Low); math.Abs(p-.05) > 1e-9 {
				t.Errorf("%v: the low end leaves %v", x, p)
			}
		}
		if x.Bad < x.Of {
			p, _ := audit.BinomialTail(audit.Tally{Bad: x.Bad + 1, Of: x.Of}, in.High)
			if math.Abs(1-p-.05) > 1e-9 {
				t.Errorf("%v: the high end leaves %v", x, 1-p)
			}
		}
		turned, _ := audit.ClopperPearson(audit.Tally{Bad: x.Of - x.Bad, Of: x.Of}, .9)
		if math.Abs(turned.Low-(1-in.High)) > 1e-12 || math.Abs(turned.High-(1-in.Low)) > 1e-12 {
			t.Errorf("%v: %v, turned %v", x, in, turned)
		}
	}
}

// TestNoAnswer: what cannot be gets no number.
func TestNoAnswer(t *testing.T) {
	good := audit.Tally{Bad: 1, Of: 2}
	for _, bad := range []audit.Tally{{}, {Bad: 3, Of: 2}, {Bad: -1, Of: 2}} {
		_, w := audit.Wilson(bad, audit.Z95)
		_, n := audit.Newcombe(good, bad, audit.Z95)
		_, c := audit.ClopperPearson(bad, .95)
		_, b := audit.BinomialTail(bad, .1)
		_, f := audit.FisherExact(bad, good)
		if w || n || c || b || f {
			t.Errorf("%v has an answer", bad)
		}
	}
	if _, ok := audit.BinomialTail(good, math.NaN()); ok {
		t.Error("a background of NaN has an answer")
	}
	if len(audit.Holm(nil)) != 0 {
		t.Error("nothing tested has an answer")
	}
}
