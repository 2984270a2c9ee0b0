package audit_test

import (
	"errors"
	"strings"
	"testing"

	"packwright/audit"
	"packwright/events"
	"packwright/prep"
)

// TestDay: what left and what is open on a day, before it is closed, after, and on
// days of which the log knows nothing.
func TestDay(t *testing.T) {
	f := newFloor(t)
	line := func(carton string, q int) events.PlanLine {
		return events.PlanLine{Carton: carton, Item: "MG3", Q: q, Owner: "house"}
	}
	f.do("BOARD", "odile", &events.LotAnnounced{Lot: "L-01", Kind: "bought", Item: "MG3", Owner: "house", Qty: 9})
	f.do("BOARD", "odile", &events.LotReceived{Lot: "L-01", Item: "MG3", Tote: "T-01", Qty: 9})
	f.do("BOARD", "odile", &events.PlanReleased{Plan: "PL", Rev: 1, Lines: []events.PlanLine{line("C-01", 2), line("C-02", 2)}})
	f.do("ST-1", "tobi", &events.CartonOpened{Carton: "C-02", Plan: "PL", Rev: 1, Tare: 520 * prep.Gram})
	f.do("ST-1", "tobi", &events.MismatchRaised{Mismatch: "X-01", Kind: events.Short, Scope: events.Scope{Carton: "C-02"}, Blocks: true})
	f.do("BOARD", "maren", &events.LoadOpened{Load: "LD-1"})

	day := func(fold *audit.Fold, of string) audit.DayView {
		t.Helper()
		v, err := fold.Day(of)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	v := day(f.read(), "")
	if v.Day != "2031-03-04" || !v.Closed.IsZero() || v.Head != nil || v.Check() != "" || len(v.Loads) != 0 {
		t.Errorf("%+v", v)
	}
	open := []string{"mismatch X-01 SHORT, C-02", "carton C-02 ", "load LD-1 "}
	if got := openOf(v); strings.Join(got, "\n") != strings.Join(open, "\n") {
		t.Errorf("open: %q, want %q", got, open)
	}

	f.do("BOARD", "maren", &events.LoadClosed{Load: "LD-1", Left: []string{"C-09"}})
	f.do("BOARD", "maren", &events.DayClosed{Day: "2031-03-04", Matters: []string{"X-01"}, Cartons: []string{"C-02"}})
	f.do("BOARD", "", signed(t, f.list, nil))
	v = day(f.read(), "")
	if v.By != "maren" || v.Closed.IsZero() || v.Head == nil || v.Head.Size != int64(len(f.list)-1) || len(v.Loads) != 1 || v.Loads[0].Load != "LD-1" || v.Loads[0].Behind[0] != "C-09" {
		t.Errorf("%+v", v)
	}
	if got := openOf(v); len(got) != 2 || got[0] != "mismatch X-01 SHORT, C-02" {
		t.Errorf("open: %q", got)
	}
	var text strings.Builder
	if err := v.Text(&text); err != nil || !strings.Contains(text.String(), v.Check()) || !strings.Contains(text.String(), "left behind: C-09") {
		t.Errorf("%v\n%s", err, text.String())
	}
	if again := day(f.read(), "2031-03-04"); again.Root != v.Root {
		t.Errorf("by its name: %+v", again)
	}
	var no *audit.NoSuch
	if _, err := f.read().Day("2031-03-03"); !errors.As(err, &no) {
		t.Errorf("a day before: %v", err)
	}
}

func openOf(v audit.DayView) (out []string) {
	for _, o := range v.Open {
		out = append(out, o.Kind+" "+o.Name+" "+o.Text)
	}
	return out
}
