package backup_test

import (
	"bytes"
	"errors"
	"strings"
	"testing"

	"packwright/events"
	"packwright/events/backup"
	"packwright/events/memlog"
	"packwright/events/proof"
	"packwright/prep"
)

func exportedLines(t testing.TB, list [][]byte) string {
	t.Helper()
	var b bytes.Buffer
	if n, err := backup.WriteLines(t.Context(), &b, memlog.New(list...), "yard"); err != nil || n != int64(strings.Count(b.String(), "\n"))-1 {
		t.Fatalf("%d events, %v", n, err)
	}
	return b.String()
}

// TestLines: the leaves of the tree come back byte for byte, frame by frame.
func TestLines(t *testing.T) {
	list := frames(t, 7)
	text := exportedLines(t, list)
	var tree, want proof.Tree
	for _, f := range list {
		_, lines, err := events.SplitFrame(f)
		if err != nil {
			t.Fatal(err)
		}
		for _, l := range lines {
			want.Add(l)
		}
	}
	next := uint64(1)
	err := backup.ReadLines(strings.NewReader(text), func(seq uint64, lines [][]byte) error {
		if seq != next || len(lines) != 1+int(seq)%3 {
			t.Errorf("frame %d of %d events, expected frame %d", seq, len(lines), next)
		}
		next++
		for _, l := range lines {
			tree.Add(l)
		}
		return nil
	})
	if err != nil || tree.Size != want.Size || tree.Root() != want.Root() || next != 8 {
		t.Errorf("%d of %d events, %v", tree.Size, want.Size, err)
	}
}

func TestLinesRefused(t *testing.T) {
	good := exportedLines(t, frames(t, 3))
	rows := strings.SplitAfter(good, "\n")
	for name, c := range map[string]struct {
		text string
		line int
	}{
		"empty":         {"", 1},
		"cut":           {good[:len(good)-1], 7},
		"no end":        {strings.Join(rows[:6], ""), 7},
		"end of frame":  {rows[0] + strings.Join(rows[2:], ""), 6},
		"changed":       {strings.Replace(good, "T-1", "T-7", 1), 7},
		"after the end": {good + rows[6], 8},
		"line missing":  {rows[1] + rows[2], 1},
		"line twice":    {rows[0] + rows[0], 2},
		"begins late":   {strings.Join(rows[2:], ""), 1},
		"another field": {strings.Replace(good, `{"seq"`, `{"x":1,"seq"`, 1), 1},
		"no event":      {strings.Replace(good, `"event":{"type"`, `"event":{"tipe"`, 1), 1},
		"two values":    {strings.Replace(good, "}\n", "} 1\n", 1), 1},
		"empty line":    {rows[0] + "\n" + rows[1], 2},
	} {
		var in *prep.InputError
		err := backup.ReadLines(strings.NewReader(c.text), func(uint64, [][]byte) error { return nil })
		if !errors.As(err, &in) || in.Line != c.line {
			t.Errorf("%s: %v, want line %d", name, err, c.line)
		}
	}
}

// FuzzReadLines: frames come in order, with events that can be decoded, or an
// error with its line; never a panic.
func FuzzReadLines(f *testing.F) {
	good := exportedLines(f, frames(f, 3))
	f.Add([]byte(good))
	f.Add([]byte(good[:len(good)/2]))
	f.Add([]byte(`{"seq":"1.0","event":null}` + "\n"))
	f.Fuzz(func(t *testing.T, b []byte) {
		n := uint64(0)
		err := backup.ReadLines(bytes.NewReader(b), func(seq uint64, lines [][]byte) error {
			if n++; seq != n {
				t.Fatalf("frame %d after %d", seq, n-1)
			}
			_, err := events.DecodeLines(seq, lines)
			return err
		})
		var in *prep.InputError
		if err != nil && !errors.As(err, &in) {
			t.Fatalf("no place is named: %v", err)
		}
	})
}
