package audit_test

import (
	"testing"

	"packwright/audit"
	"packwright/events"
	"packwright/prep"
)

// TestTemplateHalfAndHalf: of a run that was printed half by one revision and half by
// the next, each unit is of the one that its own label was printed by; a torn label's
// unit is of the one it was printed anew by, and so is one that got another label later.
func TestTemplateHalfAndHalf(t *testing.T) {
	f := lanternDay(t)
	print := func(from, to prep.Mark, rev int) *events.LabelsPrinted {
		return &events.LabelsPrinted{Run: "R-90", Kind: events.KeepSealed, N: int(to-from) + 1, From: from, To: to, Template: rev}
	}
	made := func(list ...prep.Mark) *events.UnitsPrepped {
		return &events.UnitsPrepped{Run: "R-90", Lot: "L-90", Item: "MG3", From: "T-90", To: "T-90", Q: len(list), Marks: marks(list...), Recipe: "window"}
	}
	f.do("ST-1", "tobi", &events.LotAnnounced{Lot: "L-90", Kind: "bought", Item: "MG3", Owner: "house", Qty: 10},
		&events.LotReceived{Lot: "L-90", Item: "MG3", Tote: "T-90", Qty: 10}, &events.UnitsTriaged{Lot: "L-90", Item: "MG3", Tote: "T-90", Q: 10, Verdict: events.ToPrep})
	f.do("ST-1", "tobi", &events.RunOpened{Run: "R-90", Tote: "T-90", Lot: "L-90", Item: "MG3", Q: 10, Recipe: "window", RulesRev: 5, Clear: "yes"})
	f.do("ST-1", "tobi", print(100, 104, 1), made(100, 101, 102))
	f.do("ST-1", "tobi", print(105, 109, 2))
	f.do("ST-1", "tobi", &events.LabelsSpoiled{Run: "R-90", Kind: events.KeepSealed, N: 1, From: 103, To: 103}, print(110, 110, 2)) // torn, and printed anew
	f.do("ST-1", "tobi", made(110, 104, 105, 106, 107, 108, 109))
	want := func(rev string, marks string, n, complaints int) {
		t.Helper()
		s, err := f.read().SiblingsAlong(audit.ByTemplate, "keep-sealed "+rev)
		if err != nil || s.N != n || s.AtMost || !has(s.Marks, marks) || s.Here != n || s.Odds.Complaints != complaints {
			t.Errorf("revision %s: %+v, %v", rev, s, err)
		}
	}
	damaged(f, "Q-1", events.ClaimGiven{Mark: 110}, 1)
	damaged(f, "Q-2", events.ClaimGiven{Mark: 104}, 1)
	want("1", "M-0100..M-0102, M-0104", 4, 1)
	want("2", "M-0105..M-0110", 6, 1)

	// M-0102 comes off in the tote and its unit gets the label that was printed last.
	f.do("ST-1", "tobi", print(111, 111, 2), &events.MarkVoided{Mark: 102, Lot: "L-90", Item: "MG3", Stage: events.Prepped, Place: "T-90", Reason: "came off"},
		&events.UnitMarked{Mark: 111, Lot: "L-90", Item: "MG3", Run: "R-90", From: "T-90", To: "T-90", How: "replace", Replaces: 102})
	damaged(f, "Q-3", events.ClaimGiven{Mark: 111}, 1)
	want("1", "M-0100..M-0101, M-0104", 3, 1)
	want("2", "M-0105..M-0111", 7, 2)

	for m, rev := range map[prep.Mark]string{100: "keep-sealed 1", 110: "keep-sealed 2", 111: "keep-sealed 2"} {
		list, err := f.read().SiblingsOf(m, 0)
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, s := range list {
			if s.Axis == audit.ByTemplate {
				got = append(got, s.Key)
			}
		}
		if len(got) != 1 || got[0] != rev {
			t.Errorf("%s is of %v, want %s alone", m, got, rev)
		}
	}
	if page, next, err := f.read().Members(audit.ByTemplate, "keep-sealed 2", 107, 3); err != nil || !has(page, "M-0107..M-0109") || next != 110 {
		t.Errorf("%s %s %v", page, next, err)
	}
}
