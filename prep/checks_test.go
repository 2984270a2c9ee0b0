package prep

import (
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// checkRow is one line of testdata/checks with the source it stands under.
type checkRow struct {
	place, source string
	col           []string
}

// checkRows reads a file of testdata/checks; only the rows whose first column
// is kind, without that column.
func checkRows(t *testing.T, file, kind string) []checkRow {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("..", "testdata", "checks", file))
	if err != nil {
		t.Fatal(err)
	}
	var rows []checkRow
	source := ""
	for i, line := range strings.Split(string(b), "\n") {
		if s, ok := strings.CutPrefix(line, "source: "); ok {
			source = s
			continue
		}
		if strings.TrimSpace(line) == "" || strings.HasPrefix(line, "#") {
			continue
		}
		col := strings.Split(line, "|")
		for j := range col {
			col[j] = strings.TrimSpace(col[j])
		}
		place := file + ":" + strconv.Itoa(i+1)
		if source == "" {
			t.Fatalf("%s: a value without a source", place)
		}
		if col[0] == kind {
			rows = append(rows, checkRow{place, source, col[1:]})
		}
	}
	if len(rows) == 0 {
		t.Fatalf("%s holds no %q", file, kind)
	}
	return rows
}

func (r checkRow) float(t *testing.T, i int) float64 {
	t.Helper()
	f, err := strconv.ParseFloat(r.col[i], 64)
	if err != nil {
		t.Fatalf("%s: %v", r.place, err)
	}
	return f
}

func (r checkRow) int(t *testing.T, i int) int {
	t.Helper()
	n, err := strconv.Atoi(r.col[i])
	if err != nil {
		t.Fatalf("%s: %v", r.place, err)
	}
	return n
}

// digits is the tolerance that the digits of a printed number claim: half of the last.
func (r checkRow) digits(i int) float64 {
	_, frac, _ := strings.Cut(r.col[i], ".")
	tol := 0.5
	for range frac {
		tol /= 10
	}
	return tol * 1.000001
}
