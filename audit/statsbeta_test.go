package audit

import (
	"bufio"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// TestIncompleteBeta holds the continued fraction against closed forms, and the
// quantile against its inverse.
func TestIncompleteBeta(t *testing.T) {
	file, err := os.Open(filepath.Join("..", "testdata", "checks", "statistics.txt"))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rows := 0
	for in := bufio.NewScanner(file); in.Scan(); {
		text, ok := strings.CutPrefix(in.Text(), "beta | ")
		if !ok {
			continue
		}
		var v [4]float64
		for i, s := range strings.Split(text, "|") {
			if v[i], err = strconv.ParseFloat(strings.TrimSpace(s), 64); err != nil {
				t.Fatal(err)
			}
		}
		rows++
		if got := incompleteBeta(v[0], v[1], v[2]); math.Abs(got-v[3]) > 1e-11 {
			t.Errorf("I_%v(%v, %v) = %v, want %v", v[0], v[1], v[2], got, v[3])
		}
		if x := betaQuantile(v[3], v[1], v[2]); math.Abs(x-v[0]) > 1e-9 {
			t.Errorf("the %v quantile of (%v, %v) is %v, want %v", v[3], v[1], v[2], x, v[0])
		}
	}
	if rows < 5 {
		t.Errorf("%d rows", rows)
	}
	for x := 0.01; x < 1; x += 0.01 {
		if d := incompleteBeta(x, 2.5, 9) + incompleteBeta(1-x, 9, 2.5) - 1; math.Abs(d) > 1e-13 {
			t.Errorf("the two sides of %v differ by %v", x, d)
		}
	}
}
