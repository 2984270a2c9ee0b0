package main

import (
	"context"
	"strings"
	"testing"
	"time"

	"packwright/cmd/packwright/door"
	"packwright/events"
	"packwright/testdata/demo"
	"packwright/workflow"
)

// flaky is a floor that is away for so many commands: before they are kept, or
// after, when only the answer is lost.
type flaky struct {
	door.Floor
	before, after int
	asked         []string
}

func (f *flaky) Ask(ctx context.Context, c workflow.Command) door.Answer {
	f.asked = append(f.asked, c.ID)
	if f.before > 0 {
		f.before--
		return door.Troubled(c.ID, events.ErrUnreachable)
	}
	a := f.Floor.Ask(ctx, c)
	if f.after > 0 {
		f.after--
		return door.Troubled(c.ID, events.ErrUnreachable)
	}
	return a
}

// noon is the floor of the demo at 13:41, and a bench's scanner there: the first
// carton of ST-3 is sealed, its second not yet open.
func noon(t *testing.T) (*demoFloor, *flaky, *scanner) {
	t.Helper()
	d := newDesk(t.Context(), &streams{strings.NewReader(""), &strings.Builder{}, &strings.Builder{}}, &settings{Log: "error"})
	f, err := openDemo(d, t.TempDir(), "")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := f.Close(); err != nil {
			t.Error(err)
		}
	})
	if err := f.play(d, demo.Until(demo.Day(), time.Date(2031, 3, 4, 13, 41, 0, 0, time.UTC))); err != nil {
		t.Fatal(err)
	}
	away := &flaky{Floor: door.Local{Writer: f.writer}}
	return f, away, newScanner("ST-3", away, f.writer, f.now)
}

// placed is how many units lie in a carton.
func placed(t *testing.T, f *demoFloor, carton string) (n int) {
	t.Helper()
	if err := f.writer.View(t.Context(), func(w *workflow.Floor) { n = w.Ledger.QtyAt(carton) }); err != nil {
		t.Fatal(err)
	}
	return n
}

func say(t *testing.T, s *scanner, n uint64, raw string) workflow.Said {
	t.Helper()
	said, err := s.scan(t.Context(), typed{Session: "line", N: n, Raw: raw})
	if err != nil {
		t.Fatal(err)
	}
	return said
}

// TestScanSentAgain sends one scan twice, as when its answer was lost on the way.
func TestScanSentAgain(t *testing.T) {
	f, _, s := noon(t)
	say(t, s, 1, "C-02")
	first := say(t, s, 2, "M-0013")
	if first.Outcome != workflow.Kept || placed(t, f, "C-02") != 1 {
		t.Fatalf("%+v, %d in C-02", first, placed(t, f, "C-02"))
	}
	if again := say(t, s, 2, "M-0013"); again != first {
		t.Errorf("sent again: %+v, not %+v", again, first)
	}
	if anew := say(t, s, 3, "M-0013"); anew.Code != "E-CAR-04" {
		t.Errorf("scanned anew: %+v", anew)
	}
	if n := placed(t, f, "C-02"); n != 1 {
		t.Errorf("%d in C-02", n)
	}
}

// TestScanAway loses a command, or its answer, on the way to the floor. The bench
// says so; with the next scan it is given again under its number, and kept once.
func TestScanAway(t *testing.T) {
	for _, c := range []struct{ before, after int }{{1, 0}, {0, 1}, {2, 0}} {
		f, away, s := noon(t)
		say(t, s, 1, "C-02")
		away.before, away.after, away.asked = c.before, c.after, nil
		if said := say(t, s, 2, "M-0013"); said.Code != "E-SYS-01" {
			t.Errorf("%+v: %+v", c, said)
		}
		said := say(t, s, 3, "M-0014")
		for n := uint64(4); said.Code == "E-SYS-01" && n < 9; n++ {
			said = say(t, s, n, "M-0014")
		}
		if said.Outcome != workflow.Kept || placed(t, f, "C-02") != 2 {
			t.Errorf("%+v: %+v, %d in C-02", c, said, placed(t, f, "C-02"))
		}
		seen := map[string]bool{}
		for _, id := range away.asked {
			seen[id] = true
		}
		if len(seen) != 2 {
			t.Errorf("%+v: two placements under %d numbers: %v", c, len(seen), away.asked)
		}
	}
}
