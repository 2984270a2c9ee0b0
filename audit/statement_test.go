package audit_test

import (
	"fmt"
	"strings"
	"testing"

	"packwright/audit"
	"packwright/events"
)

// TestStatementsOfTheDay: what the floor says to its two claims, each by the words
// that a stranger would look for.
func TestStatementsOfTheDay(t *testing.T) {
	f := lanternDay(t).read()
	for i, d := range []events.Data{
		&events.ClaimOpened{Claim: "CL-01", Kind: "damaged", Given: events.ClaimGiven{Mark: 19}, Qty: 1},
		&events.ClaimOpened{Claim: "CL-02", Kind: "short", Given: events.ClaimGiven{Item: "DSC", Carton: "C-11"}, Qty: 2},
		&events.ClaimEvidenceAdded{Claim: "CL-01", Text: "the corner was soft", File: "corner.jpg", Digest: "9f86"},
		&events.ClaimTraced{Claim: "CL-01", Size: 1, Query: "mark M-0019"},
		&events.ClaimSiblingsChecked{Claim: "CL-01", Axis: "run", Set: "R-07", Of: 9, Looked: 8, Bad: 1},
		&events.ClaimOpened{Claim: "CL-03", Kind: "damaged", Given: events.ClaimGiven{Mark: 19}, Qty: 1},
		&events.ClaimLinked{Claim: "CL-03", DupOf: "CL-01"},
	} {
		e := said(t, d)[0]
		e.Seq.Frame, e.Cause, e.At, e.Recorded = f.Last().Frame+1, fmt.Sprintf("BOARD/9/%d", i), f.Now(), f.Now()
		if err := f.Apply(&e); err != nil {
			t.Fatal(err)
		}
	}
	for claim, wants := range map[string][]string{
		"CL-01": {"one unit, exactly", "run R-07, unit 5, at ST-2 by badge ife", "r4, recipe", "1 layer of wrap", "lot BW-18", "lot L-02", "10 announced, 10 received",
			"1 found fit for divert", "1 unit with the mark M-0019", "seal 000412", "the corner was soft; file corner.jpg, SHA-256 9f86", "run R-07: 8 of 9 looked at, 1 bad", "repeated by CL-03", "what happened to it after it left", "how it looked when it came"},
		"CL-02": {"strong: it left complete", "12 of DSC", "counted 12", "seal 000409", "cannot tell which of the 12", "no weight is known after it left", "what would defeat this"},
	} {
		s, err := f.StatementOf(claim, "ab12")
		if err != nil {
			t.Fatal(err)
		}
		b := &strings.Builder{}
		if err := s.Text(b); err != nil {
			t.Fatal(err)
		}
		for _, want := range append(wants, "root: ab12", "Statement of lantern-yard to claim "+claim) {
			if !strings.Contains(b.String(), want) {
				t.Errorf("%s does not say %q:\n%s", claim, want, b)
			}
		}
		for _, name := range []string{"Ife", "Sunniva"} {
			if strings.Contains(b.String(), name) {
				t.Errorf("%s names %s", claim, name)
			}
		}
		if s.Head.Size != f.Events() || s.Head.Read != f.Last() {
			t.Errorf("%s: head %+v", claim, s.Head)
		}
	}
	if s, err := f.SiblingsAlong(audit.ByRun, "R-07"); err != nil || s.Odds.Complaints != 1 {
		t.Errorf("a claim and its repetition are %+v, %v", s.Odds, err)
	}
	if _, err := f.StatementOf("CL-99", ""); err == nil {
		t.Error("a statement of nothing")
	}
}

// TestReopenedCartonsSaySo: C-05 was opened again after its first seal, and a
// plush left C-07 on somebody's word.
func TestReopenedCartonsSaySo(t *testing.T) {
	f := lanternDay(t).read()
	tr, err := f.TraceUnits(audit.Ask{Carton: "C-05"})
	if err != nil || !strings.Contains(tr.String(), "reopened: seal 000404 of") || !strings.Contains(tr.String(), "seal 000410") {
		t.Errorf("%v, %v", tr, err)
	}
	tr, err = f.TraceUnits(audit.Ask{Carton: "C-07", Item: "PLU"})
	if err != nil || !strings.Contains(tr.String(), "told later: unit.taken-out at 17:28:54, told 17:44:30, on the word of") {
		t.Errorf("%v, %v", tr, err)
	}
}
