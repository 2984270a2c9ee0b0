package audit_test

import (
	"fmt"
	"strings"
	"testing"

	"packwright/audit"
	"packwright/audit/follow"
	"packwright/events"
	"packwright/prep"
)

// said makes events without books behind them: what a decider gone wrong could
// have written. Each body is a command and a frame of its own.
func said(t testing.TB, list ...events.Data) []events.Event {
	var out []events.Event
	for i, d := range list {
		when := at(t, "12:00").Add(seconds(i))
		out = append(out, events.Event{Seq: events.Seq{Frame: uint64(i + 1)}, Cause: fmt.Sprintf("ST-1/1/%d", i+1), At: when, Recorded: when,
			Station: "ST-1", Badge: "tobi", Basis: events.Scan, Data: d})
	}
	return out
}

// The commonest bodies of the cases below.
var (
	lotA    = &events.LotAnnounced{Lot: "L-01", Kind: "bought", Item: "MG3", Owner: "house", Qty: 9}
	lotB    = &events.LotAnnounced{Lot: "L-02", Kind: "bought", Item: "PLU", Owner: "quill", Qty: 9}
	planned = &events.PlanReleased{Plan: "PL", Rev: 1, Lines: []events.PlanLine{{Carton: "C-01", Item: "MG3", Q: 2, Owner: "house"}}}
	opened  = &events.CartonOpened{Carton: "C-01"}
	other   = &events.CartonOpened{Carton: "C-02"}
	placed  = &events.UnitPlaced{Carton: "C-01", Item: "MG3", Lot: "L-01", From: "T-01", Q: 2}
	one     = &events.UnitPlaced{Carton: "C-01", Item: "MG3", Lot: "L-01", From: "T-01", Q: 1, Marks: marks(1)}
	done    = &events.CartonFinished{Carton: "C-01"}
	counted = &events.CountEntered{Carton: "C-01", By: "tobi", Total: 2}
	cert    = &events.CountAccepted{Carton: "C-01", Rev: 1, Lines: []events.CountLine{{Item: "MG3", Q: 2}}, CountBy: "tobi"}
	sealed  = &events.CartonSealed{Carton: "C-01", Seal: "000001"}
	raised  = &events.MismatchRaised{Mismatch: "X-01", Kind: events.Short, Scope: events.Scope{Carton: "C-01"}, Blocks: true}
	fixed   = &events.MismatchFixed{Mismatch: "X-01"}
	settled = &events.MismatchResolved{Mismatch: "X-01", Resolution: "recount", Approver: "maren"}
	runOpen = &events.RunOpened{Run: "R-01", Lot: "L-01", Item: "MG3"}
	made    = &events.UnitsPrepped{Run: "R-01", Lot: "L-01", Item: "MG3", Q: 1, Marks: marks(1)}
	blocked = &events.MatLotBlocked{MatLot: "BW-1", Material: "wrap", Reason: "bursts"}
	claimed = &events.ClaimOpened{Claim: "CL-01", Kind: "damaged", Given: events.ClaimGiven{Mark: 1}, Qty: 1}
	traced  = &events.ClaimTraced{Claim: "CL-01", Size: 1}
	gone    = &events.CartonDispatched{Carton: "C-01", Load: "LD", Seal: "000001"}
)

// upTo is the road of one carton, as far as wanted.
func upTo(n int, more ...events.Data) []events.Data {
	road := []events.Data{lotA, planned, opened, placed, done, counted, cert, sealed, gone}
	return append(road[:n:n], more...)
}

// TestEachLawIsBroken: the last event of each list breaks just the law named, and
// the list before it none.
func TestEachLawIsBroken(t *testing.T) {
	cases := []struct {
		law  string
		list []events.Event
		text string
	}{
		{"a mark is used once", said(t, lotA, runOpen, made, &events.UnitMarked{Mark: 1, Lot: "L-01", Item: "MG3"}), "M-0001"},
		{"a cancelled mark moves no more", said(t, lotA, runOpen, made, &events.MarkVoided{Mark: 1, Lot: "L-01", Item: "MG3", Stage: events.Prepped}, opened, one), "cancelled"},
		{"a cancelled mark moves no more", said(t, lotA, runOpen, made, &events.UnitsDiverted{Lot: "L-01", Item: "MG3", Stage: events.Prepped, Q: 1, Marks: marks(1)},
			&events.UnitsHeld{Lot: "L-01", Item: "MG3", Stage: events.Prepped, Q: 1, Marks: marks(1)}), "has left"},
		{"no unit lies in two cartons", said(t, lotA, opened, other, one, &events.UnitPlaced{Carton: "C-02", Item: "MG3", Lot: "L-01", Q: 1, Marks: marks(1)}), "lies in C-01"},
		{"no unit lies in two cartons", said(t, lotA, opened, other, one, &events.UnitTakenOut{Carton: "C-02", Item: "MG3", Lot: "L-01", Q: 1, Marks: marks(1)}), "C-01"},
		{"no stage is skipped", said(t, lotA, &events.UnitsHeld{Lot: "L-01", Item: "MG3", Stage: events.Sealed, Q: 1}), "sealed"},
		{"no stage is skipped", said(t, lotA, &events.MarkVoided{Mark: 1, Lot: "L-01", Item: "MG3", Stage: events.Counted}), "contents-counted"},
		{"no stage is skipped", said(t, lotA, &events.HoldReleased{Hold: "H", Lot: "L-01", Item: "MG3", Stage: events.Counted, Q: 1}), "contents-counted"},
		{"prep happens in an open run", said(t, lotA, runOpen, &events.RunClosed{Run: "R-01"}, made), "R-01"},
		{"prep happens in an open run", said(t, lotA, &events.UnitSpoiled{Run: "R-02", Lot: "L-01", Item: "MG3", Stage: events.Triaged, Q: 1}), "R-02"},
		{"a hazard waits for a licensed person", said(t, lotA, &events.UnitsHeld{Hold: "H-1", Lot: "L-01", Item: "MG3", Stage: events.Received, Q: 1, Hazard: true},
			&events.HoldReleased{Hold: "H-1", Lot: "L-01", Item: "MG3", Stage: events.Received, Q: 1}), "H-1"},
		{"a lot holds one item", said(t, lotA, &events.LotReceived{Lot: "L-01", Item: "MG4", Tote: "T", Qty: 1}), "MG4"},

		{"an answer stands", said(t, claimed, &events.ClaimDecided{Claim: "CL-01"}), "CL-01 is opened"},
		{"an answer stands", said(t, claimed, &events.ClaimSiblingsChecked{Claim: "CL-01"}), "CL-01 is opened"},
		{"an answer stands", said(t, claimed, &events.ClaimClosed{Claim: "CL-01"}), "CL-01 is opened"},
		{"an answer stands", said(t, claimed, traced, &events.ClaimDecided{Claim: "CL-01"}, &events.ClaimEvidenceAdded{Claim: "CL-01", Text: "late"}), "CL-01 is decided"},
		{"an answer stands", said(t, claimed, traced, &events.ClaimDecided{Claim: "CL-01"}, traced), "CL-01 is decided"},
		{"an answer stands", said(t, claimed, &events.ClaimOpened{Claim: "CL-02"}, &events.ClaimLinked{Claim: "CL-02", DupOf: "CL-01"}, &events.ClaimTraced{Claim: "CL-02"}), "CL-02 is linked"},

		{"a blocked lot is used no more", said(t, blocked, &events.MaterialDrawn{Run: "R-01", Material: "wrap", MatLot: "BW-1"}), "BW-1 is blocked"},
		{"a blocked lot is used no more", said(t, blocked, &events.MaterialSwapped{Run: "R-01", Material: "wrap", From: "BW-2", To: "BW-1"}), "BW-1 is blocked"},
		{"a blocked lot is used no more", said(t, blocked, &events.SupplySubstituted{Run: "R-01", Material: "wrap", By: "paper", MatLot: "BW-1"}), "BW-1 is blocked"},
		{"a blocked lot is used no more", said(t, blocked, &events.SupplyIssued{MatLot: "BW-1"}), "BW-1 is blocked"},
		{"a blocked lot is used no more", said(t, blocked, &events.CartonOpened{Carton: "C-01", MatLot: "BW-1"}), "BW-1 is blocked"},
		{"a blocked lot is used no more", said(t, lotA, runOpen, &events.MaterialDrawn{Run: "R-01", Material: "wrap", MatLot: "BW-1"}, blocked, made), "R-01 uses it"},

		{"nothing moves after acceptance", said(t, upTo(7, placed)...), "accepted"},
		{"nothing moves after acceptance", said(t, upTo(8, &events.UnitTakenOut{Carton: "C-01", Item: "MG3", Lot: "L-01", Q: 1})...), "000001"},
		{"nothing moves after acceptance", said(t, upTo(9, placed)...), "has left"},
		{"two owners never share a carton", said(t, lotA, lotB, opened, placed, &events.UnitPlaced{Carton: "C-01", Item: "PLU", Lot: "L-02", Q: 1}), "quill"},
		{"a count is accepted on evidence", said(t, upTo(5, cert)...), "nobody"},
		{"a count is accepted on evidence", said(t, upTo(5, &events.CountEntered{Carton: "C-01", Total: 1}, cert)...), "1 were counted"},
		{"a count is accepted on evidence", said(t, upTo(5, &events.CountAccepted{Carton: "C-01", Rev: 1, Lines: cert.Lines, Waiver: "single item", Weight: "5.0"})...), "neither"},
		{"a certificate says what is there", said(t, lotA, opened, placed, done, counted, cert), "0 planned"},
		{"a certificate says what is there", said(t, lotA, planned, opened, one, done, counted, cert), "1 of MG3 are scanned"},
		{"nothing open is accepted", said(t, upTo(6, raised, cert)...), "X-01"},
		{"nothing is sealed uncounted", said(t, upTo(6, sealed)...), "C-01"},
		{"nothing is sealed uncounted", said(t, upTo(7, &events.CountVoided{Carton: "C-01"}, sealed)...), "C-01"},
		{"nothing is sealed uncounted", said(t, upTo(8, &events.CartonReopened{Carton: "C-01", Seal: "000001"}, &events.CartonSealed{Carton: "C-01", Seal: "000002"})...), "C-01"},
		{"nothing open is sealed", said(t, upTo(6, raised, fixed, cert, sealed)...), "X-01"},
		{"a seal is used once", said(t, upTo(8, &events.CartonReopened{Carton: "C-01", Seal: "000001"}, done, counted, cert, sealed)...), "used on C-01"},
		{"only what is sealed leaves", said(t, upTo(7, gone)...), "not sealed"},
		{"only what is sealed leaves", said(t, upTo(8, &events.CartonDispatched{Carton: "C-01", Load: "LD", Seal: "000009"})...), "000009 was read"},
		{"only what is sealed leaves", said(t, upTo(9, gone)...), "has left on LD"},
		{"what has left stays away", said(t, upTo(9, &events.LoadClosed{Load: "LD"}, &events.DispatchCancelled{Carton: "C-01", Load: "LD"})...), "LD has left"},
		{"a matter is closed lawfully", said(t, upTo(6, raised, fixed, cert, &events.MismatchResolved{Mismatch: "X-01", Resolution: "clock-set"})...), "clock-set"},
		{"a matter is closed lawfully", said(t, upTo(6, raised, fixed, settled)...), "no count of C-01"},
		{"a matter is closed lawfully", said(t, upTo(6, raised, fixed, cert, settled, &events.MismatchReopened{Mismatch: "X-01"}, settled)...), "no count of C-01"},

		{"a day is closed once", said(t, &events.DayClosed{Day: "2031-03-05"}, &events.DayClosed{Day: "2031-03-04"}), "2031-03-04 is closed after 2031-03-05"},
		{"an era begins once", said(t, &events.LogRestored{Frame: 1, Era: "e2"}, &events.LogRestored{Frame: 1, Era: "e2"}), "e2"},
		{"an era begins once", said(t, &events.LogRestored{Frame: 1}), "era"},
		{"an era begins once", said(t, &events.LogRestored{Frame: 9, Common: 4, Era: "e2", Lost: &events.LostHead{Frame: 4}}), "kept up to 4"},
		{"leave is given only where it may be", said(t, &events.OverrideGranted{Override: "O", Gate: "two-owners"}), "nobody may"},
		{"leave is given only where it may be", said(t, &events.OverrideGranted{Override: "O", Gate: "scale-fault", Second: "tobi"}), "second person"},
		{"leave is given only where it may be", said(t, &events.OverrideGranted{Override: "O", Gate: "bench-clear"}, &events.OverrideGranted{Override: "O", Gate: "bench-clear"}), "used before"},
	}
	back := said(t, lotA, lotB)
	back[1].Recorded = back[0].Recorded.Add(-1000000)
	cases = append(cases, struct {
		law  string
		list []events.Event
		text string
	}{"recorded never goes back", back, "after"})
	again := said(t, lotA, opened, lotB)
	again[2].Cause = again[0].Cause
	cases = append(cases, struct {
		law  string
		list []events.Event
		text string
	}{"a command is kept once", again, "ST-1/1/1"})

	broken := map[string]bool{}
	for i, c := range cases {
		t.Run(fmt.Sprintf("%d %s", i, c.law), func(t *testing.T) {
			l := audit.NewLaws()
			for k := range c.list {
				got := l.See(&c.list[k], nil)
				if k < len(c.list)-1 {
					for _, b := range got {
						t.Errorf("too early: %s", b)
					}
					continue
				}
				if len(got) != 1 || got[0].Law != c.law || got[0].Place != c.list[k].Seq || !strings.Contains(got[0].Text, c.text) {
					t.Errorf("got %v, want %q with %q", got, c.law, c.text)
				}
			}
		})
		broken[c.law] = true
	}
	broken["what came is what there is"] = true // TestConservationIsALaw
	broken["the expected weight is right"] = true
	broken["a signed head is one the log had"] = true         // TestSignedHeadsAreLawful
	broken["a restored log goes on from its own head"] = true // TestRestoredIsLawful
	broken["a head is signed with the floor's key"] = true
	for _, law := range audit.LawBook() {
		if !broken[law.Name] {
			t.Errorf("no test breaks the law %q", law.Name)
		}
		if law.Says == "" {
			t.Errorf("the law %q says nothing", law.Name)
		}
	}
}

// TestLawsLetTheLawfulPass: near misses of the cases above.
func TestLawsLetTheLawfulPass(t *testing.T) {
	lists := map[string][]events.Event{
		"put right, then counted, resolved, sealed": said(t, upTo(6, raised, fixed, cert, settled, sealed, gone)...),
		"a matter that blocks nothing":              said(t, upTo(6, &events.MismatchRaised{Mismatch: "X-01", Kind: events.Quiet, Scope: events.Scope{Carton: "C-01"}}, cert, sealed)...),
		"voided, refilled, counted again":           said(t, upTo(7, &events.CountVoided{Carton: "C-01"}, done, counted, cert, sealed, gone)...),
		"brought back before the truck leaves":      said(t, upTo(9, &events.DispatchCancelled{Carton: "C-01", Load: "LD"}, gone, &events.LoadClosed{Load: "LD"})...),
		"a weighed carton with its count waived": said(t, upTo(5, &events.CartonWeighed{Carton: "C-01"},
			&events.CountAccepted{Carton: "C-01", Rev: 1, Lines: cert.Lines, Waiver: "single item, seen by the scale", Weight: "6.0"}, sealed)...),
		"emptied, then another owner": said(t, lotA, lotB, opened, placed, &events.UnitTakenOut{Carton: "C-01", Item: "MG3", Lot: "L-01", Q: 2},
			&events.UnitPlaced{Carton: "C-01", Item: "PLU", Lot: "L-02", Q: 1}),
		"a hazard with a licence": said(t, lotA, &events.UnitsHeld{Hold: "H-1", Lot: "L-01", Item: "MG3", Stage: events.Received, Q: 1, Hazard: true},
			&events.HoldReleased{Hold: "H-1", Lot: "L-01", Item: "MG3", Stage: events.Received, Q: 1, Licence: "LIC-7"}),
		"a blocked roll, and another in its place": said(t, lotA, runOpen, &events.MaterialDrawn{Run: "R-01", Material: "wrap", MatLot: "BW-1"}, blocked,
			&events.MaterialSwapped{Run: "R-01", Material: "wrap", From: "BW-1", To: "BW-2"}, made),
		"a scale fault, two people": said(t, &events.OverrideGranted{Override: "O", Gate: "scale-fault", Second: "maren"}),
	}
	// Two events of one command in one frame.
	pair := said(t, lotA, lotB)
	pair[1].Cause, pair[1].Seq = pair[0].Cause, events.Seq{Frame: 1, Index: 1}
	lists["two events of one command"] = pair
	for name, list := range lists {
		l := audit.NewLaws()
		for i := range list {
			for _, b := range l.See(&list[i], nil) {
				t.Errorf("%s: %s", name, b)
			}
		}
	}
}

// TestConservationIsALaw: books that do not balance are seen at the first event
// that touches the lot, and at the end.
func TestConservationIsALaw(t *testing.T) {
	f := everyMove(t)
	fold, laws := audit.New(), audit.NewLaws()
	fold.Skew("units.held")
	var got []audit.Breach
	for i := range f.list {
		if err := fold.Apply(&f.list[i]); err != nil {
			t.Fatal(err)
		}
		got = append(got, laws.See(&f.list[i], fold)...)
	}
	if len(got) == 0 || got[0].Law != "what came is what there is" || got[0].Type != "units.held" || !strings.Contains(got[0].Text, "L-01 received 20 and holds 2") {
		t.Errorf("%v", got)
	}
	if r := fold.Reconcile(); r.Balanced {
		t.Error("the reconciliation calls it balanced")
	}
}

// TestExpectedWeightIsALaw: a decider that expects another weight than the
// masses give is seen at the weighing.
func TestExpectedWeightIsALaw(t *testing.T) {
	for off, broken := range map[prep.Mass]bool{0: false, 100 * prep.Milligram: false, 3 * prep.Gram: true, -3 * prep.Gram: true} {
		f := newFloor(t)
		item := prep.Item{Item: "MG3", Name: "figure", Trace: prep.TraceClass, UnitG: 412 * prep.Gram, UnitSD: 3 * prep.Gram}
		f.do("BOARD", "odile", &events.ItemRegistered{Item: item})
		f.do("BOARD", "odile", &events.PlanReleased{Plan: "PL", Rev: 1, Lines: []events.PlanLine{{Carton: "C-01", Item: "MG3", Q: 12, Owner: "house"}}})
		f.do("ST-1", "tobi", &events.CartonOpened{Carton: "C-01", Plan: "PL", Rev: 1, Tare: 520 * prep.Gram})
		f.do("ST-1", "tobi", &events.CartonWeighed{Carton: "C-01", Gross: 5530 * prep.Gram, Expected: 5524*prep.Gram + off, SD: 12369})
		got := f.breaches()
		if broken != (len(got) == 1) || broken && got[0].Law != "the expected weight is right" {
			t.Errorf("off by %s: %v", off, got)
		}
		// a house with more paper says so in the weighing
		house := events.DefaultWeights
		house.Packing += 90 * prep.Gram
		f.do("ST-1", "tobi", &events.CartonWeighed{Carton: "C-01", Gross: 5630 * prep.Gram, Expected: 5614*prep.Gram + off, SD: 12369, House: &house})
		if now := f.breaches(); broken != (len(now) == 2) || !broken && len(now) != 0 {
			t.Errorf("another house, off by %s: %v", off, now)
		}
	}
}

// TestVerdict: what verify says of a day, and of one with a broken law.
func TestVerdict(t *testing.T) {
	f := lanternDay(t)
	v, err := follow.Verify(t.Context(), f.log(), nil)
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	if err := v.Text(&b); err != nil || !strings.HasPrefix(b.String(), "OK: lantern-yard") || !strings.Contains(b.String(), "14 of 14 lots balance") {
		t.Errorf("%s, %v", b.String(), err)
	}
	f.do("BOARD", "maren", &events.OverrideGranted{Override: "OV-9", Gate: "reuse-seal"})
	v, err = follow.Verify(t.Context(), f.log(), nil)
	if err != nil || v.OK() || len(v.Breaches) != 1 {
		t.Errorf("%+v, %v", v.Breaches, err)
	}
	b.Reset()
	if err := v.Text(&b); err != nil || !strings.HasPrefix(b.String(), "NOT LAWFUL") {
		t.Errorf("%s, %v", b.String(), err)
	}
}
