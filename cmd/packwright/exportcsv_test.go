package main

import (
	"bytes"
	"encoding/csv"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// TestExportRunsNothing: what people typed stands in every file of an export as text
// that no spreadsheet runs, and figures below zero stay figures.
func TestExportRunsNothing(t *testing.T) {
	dir := t.TempDir()
	d := newDesk(t.Context(), &streams{strings.NewReader(""), &bytes.Buffer{}, &bytes.Buffer{}}, &settings{Log: "warn"})
	file := filepath.Join(dir, "t.csv")
	n, err := d.writeTable(file, []string{"name", "z"}, func(row func(...string) error) error {
		if err := row("=1+1", "-9.259"); err != nil {
			return err
		}
		return row("@a", "+4")
	})
	if err != nil || n != 2 {
		t.Fatal(n, err)
	}
	got, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff("name,z\r\n'=1+1,-9.259\r\n'@a,+4\r\n", string(got)); diff != "" {
		t.Error(diff)
	}
	tables := filepath.Join(dir, "tables")
	succeed(t, "export", "csv", tables, "--data", playedDay(t))
	files, err := filepath.Glob(filepath.Join(tables, "*.csv"))
	if err != nil || len(files) != 4 {
		t.Fatal(files, err)
	}
	for _, name := range files {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		rows, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range rows {
			for _, cell := range r {
				if strings.HasPrefix(cell, "'") {
					t.Errorf("%s: %q is guarded for nothing", filepath.Base(name), cell)
				}
			}
		}
	}
}
