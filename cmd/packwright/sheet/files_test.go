package sheet

import (
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"packwright/prep"
)

var update = flag.Bool("update", false, "write the golden files anew")

const sheets = "../../../testdata/sheets"

// TestFiles reads every file of testdata/sheets and compares what it gives,
// warnings and problems included, with the golden text beside it.
func TestFiles(t *testing.T) {
	files, err := filepath.Glob(sheets + "/*.[ct][sx][vt]")
	if err != nil || len(files) < 10 {
		t.Fatalf("%d files, %v", len(files), err)
	}
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			src, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			golden := file + ".golden"
			got := told(filepath.Base(file), src)
			if *update {
				if err := os.WriteFile(golden, []byte(got), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(golden)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(string(want), got); diff != "" {
				t.Error(diff)
			}
		})
	}
}

// told is all that a file gives, as text.
func told(name string, src []byte) string {
	var b strings.Builder
	table, err := Read(name, src)
	if err == nil && strings.HasPrefix(name, "plan") {
		lines, bad := PlanLines(table, "house")
		err = bad
		for _, l := range lines {
			say(&b, l)
		}
	} else if err == nil {
		items, bad := Items(table)
		err = bad
		for _, it := range items {
			fmt.Fprintf(&b, "line %d ", it.Line)
			say(&b, it.Item)
		}
	}
	if table != nil {
		for _, w := range table.Warnings {
			fmt.Fprintf(&b, "warning %s\n", w.Show())
		}
	}
	for _, e := range flat(err) {
		fmt.Fprintf(&b, "problem %s\n", e.Show())
	}
	return b.String()
}

func say(b *strings.Builder, v any) {
	enc := json.NewEncoder(b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		panic(err)
	}
}

// flat takes joined errors apart; each must be for a person.
func flat(err error) (out []*prep.InputError) {
	for _, e := range unjoined(err) {
		if _, ok := e.(interface{ Unwrap() []error }); ok {
			out = append(out, flat(e)...)
			continue
		}
		var in *prep.InputError
		if !errors.As(e, &in) {
			panic(fmt.Sprintf("%T: %v", e, e))
		}
		out = append(out, in)
	}
	return out
}

// TestEncodingsAgree: one table in four encodings gives the same items.
func TestEncodingsAgree(t *testing.T) {
	var first []byte
	for _, name := range []string{"items-utf16le.txt", "items-utf16be.txt", "items-utf16-unmarked.txt"} {
		src, err := os.ReadFile(filepath.Join(sheets, name))
		if err != nil {
			t.Fatal(err)
		}
		table, err := Read(name, src)
		if err != nil {
			t.Fatal(err)
		}
		items, err := Items(table)
		if err != nil {
			t.Fatal(err)
		}
		got, _ := json.Marshal(items)
		if first == nil {
			first = got
		}
		if !bytes.Equal(first, got) {
			t.Errorf("%s gives %s\nnot %s", name, got, first)
		}
	}
}

// TestSeparator: the heading shows what separates cells.
func TestSeparator(t *testing.T) {
	for _, c := range []struct {
		text  string
		sep   rune
		begin int
	}{
		{"a,b,c\n", ',', 0},
		{"a;b;c\n1,5;2,5;3\n", ';', 0},
		{"a\tb, c\td\n", '\t', 0},
		{"\"a;b;c\",d\n", ',', 0},
		{"\"name, short\";b\n", ';', 0},
		{"\n\na;b\n", ';', 0},
		{"sep=;\na,b\n", ';', 6},
		{"SEP=\t\r\na,b\n", '\t', 7},
		{"\"sep=,\"\na;b\n", ',', 8},
		{"alone\n", ',', 0},
		{"", ',', 0},
	} {
		if sep, begin := separator(c.text); sep != c.sep || begin != c.begin {
			t.Errorf("%q: %q from %d, want %q from %d", c.text, sep, begin, c.sep, c.begin)
		}
	}
}
