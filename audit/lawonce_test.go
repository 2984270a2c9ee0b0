package audit_test

import (
	"testing"

	"packwright/audit"
	"packwright/events"
)

// TestRefusedScanIsNoKeptCommand: a refused scan is written down, and its
// command is not: sent again it may be refused again, and then kept. Once kept it
// is never refused.
func TestRefusedScanIsNoKeptCommand(t *testing.T) {
	no := &events.ScanRefused{Raw: "0a", Class: "open-run", Error: "E-PRE-04"}
	for _, c := range []struct {
		list   []events.Data
		broken bool
	}{
		{[]events.Data{no, no}, false},
		{[]events.Data{no, lotA}, false},
		{[]events.Data{lotA, no}, true},
		{[]events.Data{lotA, lotB}, true},
	} {
		laws, fold := audit.NewLaws(), audit.New()
		var got []audit.Breach
		for _, e := range said(t, c.list...) {
			e.Cause = "ST-1/1/7"
			got = append(got, laws.See(&e, fold)...)
		}
		if (len(got) > 0) != c.broken {
			t.Errorf("%s then %s: %v", c.list[0].Type(), c.list[1].Type(), got)
		}
	}
}
