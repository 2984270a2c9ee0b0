package events_test

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"packwright/events"
	"packwright/prep"
)

// samples are lines as this program once wrote them, one file for each event
// type and version. They are added and never edited: a log that was written
// with an old version must be readable for ever.
const samples = "../testdata/events"

func sample(t *testing.T, name events.Type, version int) []byte {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join(samples, fmt.Sprintf("%s.v%d.json", name, version)))
	if err != nil {
		t.Fatal(err)
	}
	line, ok := bytes.CutSuffix(raw, []byte("\n"))
	if !ok || bytes.ContainsAny(line, "\n\r") {
		t.Fatalf("%s.v%d.json is not one line that ends with a newline", name, version)
	}
	return line
}

func TestSamplesAreComplete(t *testing.T) {
	want := map[string]bool{}
	for _, name := range events.Types() {
		for v := 1; v <= events.Version(name); v++ {
			want[fmt.Sprintf("%s.v%d.json", name, v)] = true
		}
	}
	files, err := os.ReadDir(samples)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if !want[f.Name()] {
			t.Errorf("%s is the sample of no type and version", f.Name())
		}
		delete(want, f.Name())
	}
	for name := range want {
		t.Errorf("%s is missing: keep one line of each type and version", name)
	}
}

// TestSamples reads every sample, and writes those of the current version back
// to the very same bytes.
func TestSamples(t *testing.T) {
	for _, name := range events.Types() {
		for v := 1; v <= events.Version(name); v++ {
			t.Run(fmt.Sprintf("%s.v%d", name, v), func(t *testing.T) {
				line := sample(t, name, v)
				e, err := events.Decode(line)
				if err != nil {
					t.Fatal(err)
				}
				if e.Type() != name {
					t.Fatalf("type %s", e.Type())
				}
				if e.At.IsZero() || e.Recorded.IsZero() || e.Basis == "" || e.Cause == "" || e.Station == "" {
					t.Errorf("envelope not filled: %+v", e)
				}
				if v < events.Version(name) {
					return
				}
				again, err := events.Encode(nil, &e)
				if err != nil {
					t.Fatal(err)
				}
				if !bytes.Equal(again, line) {
					t.Errorf("wrote back\n%s\nfrom\n%s", again, line)
				}
			})
		}
	}
}

// TestSamplesFillTheBody asks that a sample shows the shape of its type: no
// body may decode to nothing, and two types may not share one.
func TestSamplesFillTheBody(t *testing.T) {
	for _, name := range events.Types() {
		e, err := events.Decode(sample(t, name, events.Version(name)))
		if err != nil {
			t.Fatal(err)
		}
		if cmp.Equal(e.Data, events.Blank(name), cmpopts.IgnoreUnexported(prep.Rulebook{}), cmp.Comparer(func(a, b events.Time) bool { return a == b })) {
			t.Errorf("the sample of %s has an empty body", name)
		}
	}
}

// FuzzDecode feeds arbitrary lines: Decode answers with an event that survives
// writing and reading, or with ErrCorrupt, and never panics.
func FuzzDecode(f *testing.F) {
	files, err := filepath.Glob(filepath.Join(samples, "*.json"))
	if err != nil || len(files) == 0 {
		f.Fatal("no samples", err)
	}
	for _, file := range files {
		raw, err := os.ReadFile(file)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(bytes.TrimSuffix(raw, []byte("\n")))
	}
	f.Fuzz(func(t *testing.T, line []byte) {
		e, err := events.Decode(line)
		if err != nil {
			if !errors.Is(err, events.ErrCorrupt) {
				t.Fatalf("not ErrCorrupt: %v", err)
			}
			return
		}
		one, err := events.Encode(nil, &e)
		if err != nil {
			return // such as two equal marks: read from a hostile line, never written
		}
		if strings.ContainsAny(string(one), "\n\r") {
			t.Fatalf("a line with a line break: %q", one)
		}
		back, err := events.Decode(one)
		if err != nil {
			t.Fatalf("%v, from its own line %s", err, one)
		}
		two, err := events.Encode(nil, &back)
		if err != nil || !bytes.Equal(one, two) {
			t.Fatalf("wrote %s, then %s (%v)", one, two, err)
		}
	})
}
