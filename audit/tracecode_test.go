package audit_test

import (
	"errors"
	"strings"
	"testing"

	"packwright/audit"
)

// TestAnyCodeIn: whatever code of the day is read, the answer is the set that the
// log can name by it.
func TestAnyCodeIn(t *testing.T) {
	f := lanternDay(t).read()
	for code, want := range map[string]struct {
		size int
		says string
	}{
		"M-0019": {1, "R-07"}, "C-11": {24, "24"}, "000409": {24, "C-11"},
		"L-06": {18, "DSC"}, "R-07": {9, "M-0022"}, "LD-1": {221, "14 cartons"}, "X-01": {23, "C-03"}, "DSC": {18, "L-06"},
		"BW-18": {33, "R-08"}, "T-12": {0, "nothing lies there now"},
	} {
		got, err := f.TraceCode(code)
		if err != nil || got.Size != want.size || !strings.Contains(got.String(), want.says) {
			t.Errorf("%s: size %d, want %d, %v\n%s", code, got.Size, want.size, err, got)
		}
	}
	for _, code := range []string{"nobody", "C-99", ""} {
		if _, err := f.TraceCode(code); !errors.As(err, new(*audit.NoSuch)) {
			t.Errorf("%q: %v", code, err)
		}
	}
}
