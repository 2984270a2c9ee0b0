package audit_test

import (
	"errors"
	"testing"

	"packwright/audit"
)

// TestNamed: whatever is scanned or typed names one thing, or nothing.
func TestNamed(t *testing.T) {
	fold := lanternDay(t).read()
	for code, want := range map[string][2]string{
		"M-0019": {string(audit.NamedMark), "M-0019"}, "c-02": {string(audit.NamedCarton), "C-02"}, "L-02": {string(audit.NamedLot), "L-02"},
		" R-07 ": {string(audit.NamedRun), "R-07"}, "MG3": {string(audit.NamedItem), "MG3"}, "T-02": {string(audit.NamedTote), "T-02"},
	} {
		kind, key, err := fold.Named(code)
		if err != nil || string(kind) != want[0] || key != want[1] {
			t.Errorf("%q names %s %s, %v; want %v", code, kind, key, err, want)
		}
	}
	for _, code := range []string{"", "nothing", "C-99", "000000"} {
		kind, key, err := fold.Named(code)
		if no := (*audit.NoSuch)(nil); !errors.As(err, &no) {
			t.Errorf("%q names %s %s, %v", code, kind, key, err)
		}
	}
	for _, c := range fold.Cartons() {
		if c.Seal == "" {
			continue
		}
		if kind, key, err := fold.Named(c.Seal); err != nil || kind != audit.NamedCarton || key != c.Carton {
			t.Errorf("seal %s names %s %s, %v; want %s", c.Seal, kind, key, err, c.Carton)
		}
	}
}

// TestLotAndLoad: as they came in, as they left.
func TestLotAndLoad(t *testing.T) {
	fold := lanternDay(t).read()
	l, err := fold.Lot("L-02")
	if err != nil || l.Received == 0 || l.At.IsZero() || l.Item != "MG3" {
		t.Errorf("%+v, %v", l, err)
	}
	if _, err := fold.Lot("L-99"); err == nil {
		t.Error("L-99 is a lot")
	}
	if _, err := fold.Load("LD-99"); err == nil {
		t.Error("LD-99 is a load")
	}
}
