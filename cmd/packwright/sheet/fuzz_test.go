package sheet

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// FuzzRead: whatever the bytes are, there is a table or an error for a person;
// a table is rectangular, every cell stands inside the file, and what comes of
// it is a list or, again, errors for a person.
func FuzzRead(f *testing.F) {
	files, _ := filepath.Glob(sheets + "/*.[ct][sx][vt]")
	for _, file := range files {
		src, err := os.ReadFile(file)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(src)
	}
	f.Fuzz(func(t *testing.T, src []byte) {
		table, err := Read("f", src)
		if err != nil {
			flat(err) // panics on any other kind
			return
		}
		for _, r := range table.Rows {
			if len(r.Cells) != len(table.Header) {
				t.Fatalf("a row of %d cells under a heading of %d", len(r.Cells), len(table.Header))
			}
			for _, c := range r.Cells {
				if c.Line < r.Line || c.Col < 1 || !table.workbook && c.Line > len(table.lines) {
					t.Fatalf("cell %q at %d:%d in row %d", c.Text, c.Line, c.Col, r.Line)
				}
			}
		}
		_, err = Items(table)
		flat(err)
		_, err = PlanLines(table, "house")
		flat(err)
	})
}

// TestWrittenAndRead: what a CSV writer writes is read back cell by cell.
func TestWrittenAndRead(t *testing.T) {
	cell := rapid.StringOf(rapid.SampledFrom([]rune("ab ;,\t\"\n0.é½'=")))
	rapid.Check(t, func(t *rapid.T) {
		sep := rapid.SampledFrom([]rune(";,\t")).Draw(t, "sep")
		width := rapid.IntRange(2, 5).Draw(t, "width")
		row := rapid.SliceOfN(cell, width, width)
		records := rapid.SliceOfN(row, 1, 6).Draw(t, "rows")
		head := make([]string, width)
		for i := range head {
			head[i] = string(rune('A' + i))
		}
		var b strings.Builder
		w := csv.NewWriter(&b)
		w.Comma = sep
		w.UseCRLF = rapid.Bool().Draw(t, "crlf")
		if err := w.WriteAll(append([][]string{head}, records...)); err != nil {
			t.Fatal(err)
		}
		var want [][]string
		for _, r := range records {
			kept := make([]string, width)
			for i := range r {
				kept[i] = clean(r[i])
			}
			if strings.Join(kept, "") != "" {
				want = append(want, kept)
			}
		}
		table, err := Read("f", []byte(b.String()))
		if err != nil {
			if len(want) == 0 {
				return
			}
			t.Fatal(err)
		}
		if len(table.Rows) != len(want) {
			t.Fatalf("%d rows, want %d", len(table.Rows), len(want))
		}
		for i, r := range table.Rows {
			for j, c := range r.Cells {
				if c.Text != want[i][j] {
					t.Fatalf("row %d cell %d: %q, want %q", i, j, c.Text, want[i][j])
				}
			}
		}
	})
}
