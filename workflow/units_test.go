package workflow

import (
	"fmt"
	"strings"
	"testing"

	"packwright/events"
	"packwright/prep"
)

// atHandMorning gives a morning whose L-03 (30 trays, anonymous) lies prepped in T-03
// and whose L-01 (14 figures) lies prepped in T-01 with marks 1 to 10 and 4 without.
func atHandMorning(t *testing.T) *teller {
	tl := morning(t)
	l := tl.floor.Ledger
	marks := prep.MarksFromTo(1, 10)
	move := func(lot, item, tote string, q int, m prep.Marks) {
		if err := l.take(Key{lot, events.Received, tote}, q, nil); err != nil {
			t.Fatal(err)
		}
		l.put(Key{lot, events.Prepped, tote}, item, q, m)
	}
	move("L-03", "TRY", "T-03", 30, nil)
	move("L-01", "MG3", "T-01", 10, marks)
	move("L-01", "MG3", "T-01", 4, nil)
	for _, m := range marks {
		tl.floor.Units[m] = &Unit{Lot: "L-01"}
	}
	tl.floor.reserve(prep.MarksFromTo(1, 19)...)
	return tl
}

// Marks and quantities pass the same gates; a mark that leaves is spent.
func TestMarkedUnitsGoTheSameRoad(t *testing.T) {
	tl := atHandMorning(t)
	tl.floor.Voided[11] = VoidedMark{At: storyTime(t, "08:40"), By: 12}
	for _, x := range []struct{ say, want string }{
		{`ST-1 tobi hold from=T-01 q=5 reason=odd`, "no E-OUT-06"},
		{`ST-1 tobi hold marks=["M-0011"] reason=odd`, "no E-CAR-07 Label cancelled at 08:40:00 (replaced by M-0012-"},
		{`ST-1 tobi hold marks=["M-0003","M-0019"] reason=odd`, "no E-SYS-07 Label M-0019-"},
		{`ST-1 tobi hold marks=["M-0003"] q=2 reason=odd`, "no E-INT-05"},
		{`ST-1 tobi hold marks=["M-0003"] lot=L-03 reason=odd`, "no E-OUT-05"},
		{`ST-1 tobi hold marks=["M-0003..M-0005"] reason=odd`, "kept"},
		{`ST-1 tobi hold marks=["M-0005..M-0006"] reason=odd`, "no E-OUT-05"},
		{`ST-1 tobi hold marks=["M-0005"] reason=odd`, "no E-HLD-03"},
		{`ST-1 tobi hold from=T-01 q=4 reason=odd`, "kept"}, // the anonymous ones
		{`BOARD maren release-hold hold=H-01 marks=["M-0003"] reason=fine`, "kept"},
		{`BOARD maren release-hold hold=H-01 q=1 reason=fine`, "no E-INT-05"}, // which of the two?
		{`BOARD maren release-hold hold=H-01 marks=["M-0006"] reason=fine`, "no E-INT-05"},
		{`BOARD maren release-hold hold=H-02 marks=["M-0004"] reason=fine`, "no E-INT-05"},
		{`BOARD maren divert marks=["M-0004"] channel=outlet reason=odd`, "kept"},
		{`BOARD maren write-off marks=["M-0001","M-0002"] reason=crushed`, "kept"},
		{`BOARD maren declare-unaccounted marks=["M-0003"] second=odile`, "kept"},
		{`BOARD maren divert marks=["M-0004"] channel=outlet reason=odd`, "no E-SYS-07"},
		{`ST-1 tobi split-tote marks=["M-0006..M-0008"] to=T-40`, "kept"},
		{`BOARD maren un-divert lot=L-01 q=1 tote=T-41 reason=back`, "kept"},
	} {
		if got := tl.says("09:00 %s", x.say); !strings.HasPrefix(got, x.want) {
			t.Errorf("%s: %s; want %s", x.say, got, x.want)
		}
		checkHolds(t, tl.floor)
	}
	f := tl.floor
	for m, spent := range map[prep.Mark]bool{1: true, 2: true, 3: true, 4: true, 5: false, 6: false, 9: false} {
		if f.Spent.Has(m) != spent || (f.Units[m] == nil) != spent {
			t.Errorf("%s: spent %t, unit %v", m, f.Spent.Has(m), f.Units[m])
		}
	}
	if c := f.Ledger.Cell(Key{"L-01", events.Received, "T-41"}); c == nil || c.N != 1 || c.Marks != nil {
		t.Errorf("a diverted piece came back as %+v", c)
	}
}

// What is in a carton is taken out first; what an open run works on is not for
// other hands.
func TestUnitsOutOfReach(t *testing.T) {
	tl := atHandMorning(t)
	tl.says(`08:50 BOARD odile release plan=PL-1 lines=[{"carton":"C-01","item":"MG3","q":12},{"carton":"C-05","item":"TRY","q":15}]`)
	tl.says("08:50 ST-1 tobi open-carton carton=C-01 tare_g=520")
	tl.says(`08:51 ST-1 tobi place carton=C-01 marks=["M-0001..M-0002"]`)
	tl.says("08:52 ST-1 tobi triage tote=T-13 q=24 verdict=prep")
	tl.floor.Runs["R-01"] = &Run{Run: "R-01", Tote: "T-13", Lot: "L-13", Item: "MG4", Q: 20, Used: 3, Spoiled: 1, State: RunPaused}
	ways := []string{"ST-1 tobi hold reason=odd", "ST-1 tobi split-tote to=T-50", "BOARD maren divert channel=outlet reason=odd",
		"BOARD maren write-off reason=odd", "BOARD maren declare-unaccounted second=odile"}
	for _, way := range ways {
		for _, x := range []struct{ what, want string }{
			{`marks=["M-0002"]`, "no E-OUT-01 It is in C-01."},
			{`from=C-01 q=1`, "no E-OUT-01 It is in C-01."},
			{`from=T-13 q=9`, "no E-PRE-09 Run R-01"}, // 24 triaged, 16 of them the run's: 8 are free
		} {
			if got := tl.says("09:00 %s %s", way, x.what); !strings.HasPrefix(got, x.want) {
				t.Errorf("%s %s: %s; want %s", way, x.what, got, x.want)
			}
		}
	}
	if got := tl.says("09:01 ST-1 tobi hold from=T-13 q=8 reason=odd"); got != "kept" {
		t.Error("the eight that no run has:", got)
	}
	tl.floor.Runs["R-01"].State = RunClosed
	if got := tl.says("09:02 ST-1 tobi hold from=T-13 q=16 reason=odd"); got != "kept" {
		t.Error("the run is closed:", got)
	}
}

// An amendment voids the counts of just those cartons whose lines changed, and
// of no carton of which the change is itself the way out of a mismatch.
func TestAmendmentVoidsOnlyItsCounts(t *testing.T) {
	tl := atHandMorning(t)
	tl.floor.policy.Scale = false
	say := func(want, line string, args ...any) []string {
		t.Helper()
		answer := tl.line(fmt.Sprintf(line, args...), 0)
		if !strings.HasPrefix(answer[0], want) {
			t.Fatalf("%s: %s; want %s", fmt.Sprintf(line, args...), answer, want)
		}
		return answer[1:]
	}
	say("kept", `08:50 BOARD odile release plan=PL-1 lines=[{"carton":"C-05","item":"TRY","q":8},{"carton":"C-06","item":"TRY","q":8},{"carton":"C-07","item":"TRY","q":8}]`)
	for _, c := range []string{"C-05", "C-06", "C-07"} {
		say("kept", "09:00 ST-1 tobi open-carton carton=%s tare_g=610", c)
		say("kept", "09:01 ST-1 tobi place carton=%s item=TRY from=T-03 q=8", c)
		say("kept", "09:02 ST-1 tobi finish-carton carton=%s", c)
	}
	say("kept", "09:03 ST-2 ife enter-count carton=C-05 total=8")
	say("kept", "09:03 ST-1 tobi accept-count carton=C-05")
	say("kept", "09:04 ST-2 ife enter-count carton=C-06 total=8")
	say("kept", "09:04 ST-1 tobi accept-count carton=C-06")
	say("call", "09:05 ST-2 ife enter-count carton=C-07 total=7")

	say("kept", `10:00 ST-1 tobi propose plan=PL-1 reason=torn changes=[{"carton":"C-05","item":"TRY","delta":-1},{"carton":"C-06","item":"TRY","delta":1},{"carton":"C-06","item":"TRY","delta":-1}]`)
	got := strings.Join(say("call", "10:01 BOARD odile approve proposal=PC-01"), "\n")
	for _, want := range []string{`count.voided {"carton":"C-05","why":"plan changed to r2"}`,
		`"kind":"PLANCHANGED","scope":{"carton":"C-05"},"planned":7,"scanned":8,"counted":8,"blocks":true`} {
		if !strings.Contains(got, want) {
			t.Errorf("no %s in\n%s", want, got)
		}
	}
	f := tl.floor
	if strings.Contains(got, `"C-06"}`) || f.Cartons["C-05"].Cert != nil || f.Cartons["C-06"].Cert == nil || f.Cartons["C-06"].ChangedRev != 0 {
		t.Errorf("C-05 %+v, C-06 %+v\n%s", f.Cartons["C-05"], f.Cartons["C-06"], got)
	}

	say("kept", `10:10 ST-1 tobi propose for=X-01 plan=PL-1 reason=short changes=[{"carton":"C-07","item":"TRY","delta":-1}]`)
	got = strings.Join(say("kept", "10:11 BOARD odile approve proposal=PC-02"), "\n")
	if !strings.Contains(got, `count.voided {"carton":"C-07"`) || strings.Contains(got, "PLANCHANGED") {
		t.Errorf("the way out of X-01 was told as a mismatch of its own:\n%s", got)
	}
	if p := f.Plans["PL-1"]; p.Rev != 3 || p.AmendedSeq.IsZero() {
		t.Errorf("%+v", p)
	}
}
