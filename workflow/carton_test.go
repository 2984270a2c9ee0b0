package workflow

import (
	"regexp"
	"strings"
	"testing"

	json "github.com/goccy/go-json"
	"github.com/google/go-cmp/cmp"

	"packwright/events"
	"packwright/prep"
)

// packingDay is a morning whose goods are prepped, with a released plan:
// figures 1 to 14 in T-21, figures 15 to 23 in T-22, 24 figures no.
// 4 with marks 24 to 47 in T-23, 29 puzzles in T-24, 20 plush
// in T-25, 18 discs in T-26.
func packingDay(t *testing.T) *teller {
	tl := morning(t)
	for _, x := range []struct {
		lot, item, run, station string
		marks                   prep.Marks
		q                       int
	}{
		{"L-01", "MG3", "R-1", "ST-2", prep.MarksFromTo(1, 14), 14},
		{"L-02", "MG3", "R-2", "ST-2", prep.MarksFromTo(15, 23), 9},
		{"L-13", "MG4", "R-3", "ST-2", prep.MarksFromTo(24, 47), 24},
		{"L-04", "PUZ", "R-4", "ST-1", nil, 29},
		{"L-07", "PLU", "R-5", "ST-1", nil, 20},
		{"L-06", "DSC", "R-6", "ST-1", nil, 18},
	} {
		f, tote := tl.floor, "T-2"+strings.TrimPrefix(x.run, "R-")
		if err := f.Ledger.take(Key{x.lot, events.Received, "T-" + x.lot[2:]}, x.q, nil); err != nil {
			t.Fatal(err)
		}
		f.Ledger.put(Key{x.lot, events.Prepped, tote}, x.item, x.q, x.marks)
		f.Runs[x.run] = &Run{Run: x.run, Lot: x.lot, Item: x.item, Station: x.station, Rev: 4, State: RunClosed}
		f.tote(tote).Runs = []string{x.run}
		for _, m := range x.marks {
			f.Units[m] = &Unit{Lot: x.lot, Run: x.run, Rev: 4}
		}
	}
	tl.floor.reserve(prep.MarksFromTo(1, 59)...)
	tl.must("08:50 BOARD odile release plan=P-1 lines=" + strings.ReplaceAll(`[
		{"carton":"C-01","item":"MG3","q":12},{"carton":"C-02","item":"MG3","q":11},{"carton":"C-03","item":"MG4","q":12},
		{"carton":"C-07","item":"PUZ","q":15,"owner":"quill"},{"carton":"C-07","item":"PLU","q":6,"owner":"quill"},
		{"carton":"C-11","item":"DSC","q":12}]`, "\n\t\t", ""))
	tl.must("08:55 BOARD maren check-scale scale=SC-1 ref_g=5000 read_g=5001")
	return tl
}

// must gives commands that have to be kept.
func (tl *teller) must(lines ...string) {
	tl.t.Helper()
	for _, l := range lines {
		if got := tl.line(l, 0)[0]; got != "kept" {
			tl.t.Fatalf("%s: %s", l, got)
		}
	}
}

// fillC07 opens C-07 and places what its plan says.
func fillC07(tl *teller) {
	tl.must("09:00 ST-3 sunniva open-carton carton=C-07 tare_g=610",
		"09:01 ST-3 sunniva place carton=C-07 item=PUZ q=15 from=T-24",
		"09:02 ST-3 sunniva place carton=C-07 item=PLU q=6 from=T-25")
}

// ids are what an answer may name: cartons, benches, questions, times of day.
var ids = regexp.MustCompile(`\b(E-[A-Z]+-\d\d|C-\d\d|ST-\d|X-\d\d|\d\d:\d\d(:\d\d)?)\b`)

// TestBlind: from finish-carton until the count is in, no answer about a carton
// holds a number, whatever the bench asks and whatever is wrong with the carton.
func TestBlind(t *testing.T) {
	asks := []string{
		"finish-carton carton=C-07",
		"weigh carton=C-07 scale=SC-1 gross_g=12130", "weigh carton=C-07 scale=SC-1 gross_g=11827", "weigh carton=C-07 scale=SC-1 gross_g=9000",
		"weigh carton=C-07 scale=SC-1 gross_g=12130 stable=false",
		"enter-count carton=C-07 total=19", "enter-count carton=C-07 total=21", "enter-count carton=C-07 total=99",
		`enter-count carton=C-07 lines=[{"item":"PUZ","q":15},{"item":"PLU","q":7}]`,
		"accept-count carton=C-07", "seal carton=C-07 seal_no=000001",
		"place carton=C-07 item=PLU from=T-25", "place carton=C-07 item=DSC from=T-26",
		"open-carton carton=C-07", "take-out carton=C-07 item=PLU q=9 to=T-25", "void-carton carton=C-07",
	}
	for _, what := range []struct{ name, begin string }{
		{"full", ""},
		{"short by one", "09:03 ST-3 sunniva take-out carton=C-07 item=PLU to=T-25"},
		{"plan cut", `09:03 BOARD odile propose plan=P-1 reason=less changes=[{"carton":"C-07","item":"PLU","delta":-1}]`},
	} {
		for _, ask := range asks {
			tl := packingDay(t)
			fillC07(tl)
			if what.begin != "" {
				tl.must(what.begin)
			}
			if what.name == "plan cut" {
				tl.must("09:03:10 ST-1 tobi sign-out", "09:03:20 ST-1 quill sign-in", "09:03:30 ST-1 quill approve proposal=PC-01")
			}
			tl.line("09:04 ST-3 sunniva finish-carton carton=C-07", 0)
			if got := tl.says("09:05 ST-3 sunniva %s", ask); strings.ContainsAny(ids.ReplaceAllString(got, ""), "0123456789") {
				t.Errorf("%s, %s: answered %q", what.name, ask, got)
			}
		}
	}
}

// TestRaceForAMark: two benches place one mark; the second is told where it is,
// and the same bench hears that nothing changed.
func TestRaceForAMark(t *testing.T) {
	tl := packingDay(t)
	tl.must("09:00 ST-1 tobi open-carton carton=C-01", "09:00 ST-2 ife open-carton carton=C-02",
		`09:01 ST-1 tobi place carton=C-01 marks=["M-0003"]`)
	before := tl.floor.Ledger.Digest()
	if got := tl.says(`09:01 ST-2 ife place carton=C-02 marks=["M-0003"]`); !strings.HasPrefix(got, "no E-CAR-04 Already in C-01.") {
		t.Error(got)
	}
	for _, again := range []string{"2031-03-04T09:01:00.005Z", "09:01:20"} {
		if got := tl.says(`%s ST-1 tobi place carton=C-01 marks=["M-0003"]`, again); !strings.HasPrefix(got, "already E-CAR-04 Already in C-01.") {
			t.Error(got)
		}
	}
	if tl.floor.Ledger.Digest() != before || tl.floor.Ledger.QtyAt("C-01") != 1 {
		t.Error("the books moved")
	}
}

// TestDecideChangesNothing: a decision reads the floor and leaves it as it is.
func TestDecideChangesNothing(t *testing.T) {
	tl := packingDay(t)
	fillC07(tl)
	state := func() string {
		b, err := json.Marshal(tl.floor)
		if err != nil {
			t.Fatal(err)
		}
		return string(b)
	}
	before := state()
	for _, ask := range []string{"place carton=C-07 item=PUZ", "take-out carton=C-07 item=PLU", "finish-carton carton=C-07",
		"hand-over-carton carton=C-07 to=ST-1", "open-carton carton=C-01", `place carton=C-01 marks=["M-0001"]`} {
		c := tl.command("09:10 ST-3 sunniva "+ask, 0)
		if _, err := Decide(tl.floor, &c, tl.now); err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(before, state()); diff != "" {
			t.Errorf("%s changed the floor: %s", ask, diff)
		}
	}
}

// TestSnapshotBetween: a floor read back from its JSON goes on as the one that was written.
func TestSnapshotBetween(t *testing.T) {
	play := func(tl *teller, restart bool) string {
		fillC07(tl)
		for _, l := range []string{
			"09:04 ST-3 sunniva finish-carton carton=C-07",
			"09:05 ST-3 sunniva weigh carton=C-07 gross_g=12136",
			"09:06 ST-3 sunniva enter-count carton=C-07 total=20",
			"09:07 BOARD maren take mismatch=X-01",
			"09:08 ST-3 sunniva enter-count carton=C-07 total=21",
			"09:09 ST-2 ife enter-count carton=C-07 total=21",
			"09:10 BOARD maren fixed mismatch=X-01",
			"09:11 ST-1 tobi enter-count carton=C-07 total=21",
			"09:11 ST-1 tobi accept-count carton=C-07",
			"09:12 BOARD maren resolve mismatch=X-01 resolution=recount",
		} {
			if restart {
				b, err := json.Marshal(tl.floor)
				if err != nil {
					t.Fatal(err)
				}
				if tl.floor, err = ReadFloor(b, nil); err != nil {
					t.Fatal(err)
				}
			}
			t.Log(l, tl.line(l, 0)[0])
		}
		b, _ := json.Marshal(tl.floor)
		return string(b)
	}
	if diff := cmp.Diff(play(packingDay(t), false), play(packingDay(t), true)); diff != "" {
		t.Error(diff)
	}
}
