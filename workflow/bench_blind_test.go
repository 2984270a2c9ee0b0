package workflow

import (
	"strings"
	"testing"
)

// Who is blind, moment by moment: the bench of the carton, and one that it is
// brought to.
func TestWhoIsBlind(t *testing.T) {
	tl := tellTo(t, `use morning
use packing
13:20:20 ST-1 scan 430 g
13:20:30 ST-1 scan C-09
13:20:40 ST-1 scan T-28
13:20:50 ST-1 scan GLD
13:20:53 ST-1 scan N-13`)
	blind := func(station string) bool {
		counting := ""
		if b := tl.bench[station]; b != nil {
			counting = b.Counting()
		}
		return tl.floor.Blind(station, counting)
	}
	for _, step := range []struct {
		line     string
		own, far bool // whether ST-1 and ST-2 are blind after it
	}{
		{"13:24:00 ST-1 scan !FINISH-CARTON", true, false},
		{"13:24:20 ST-1 scan T-28", true, false}, // the hands do something else, and no count is in
		{"13:25:00 ST-2 scan C-09", true, true},
		{"13:25:10 ST-2 scan 12", true, true},
		{"13:25:20 ST-2 scan !ENTER", true, true}, // it disagrees: both have it in hand still
		{"13:25:30 ST-1 scan C-10", false, true},  // put down for another: a count is in, the bench sees
		{"13:25:40 ST-1 scan !CANCEL", false, true},
		{"13:25:50 ST-1 scan C-09", true, true}, // taken up again
	} {
		tl.line(step.line, 1)
		if got := blind("ST-1"); got != step.own {
			t.Errorf("%s: ST-1 is blind: %v, C-09 is %s", step.line, got, tl.floor.Cartons["C-09"].State)
		}
		if got := blind("ST-2"); got != step.far {
			t.Errorf("%s: ST-2 is blind: %v", step.line, got)
		}
		for station, b := range tl.bench {
			_, sheet := b.CountSheet(tl.floor)
			if sheet != blind(station) {
				t.Errorf("%s: %s has a count sheet: %v", step.line, station, sheet)
			}
		}
	}
}

// A blind bench that is asked for its numbers by mistake is a fault of ours, and
// stops there.
func TestABlindBenchShowsNothing(t *testing.T) {
	tl := tellTo(t, `use morning
use packing
13:20:20 ST-1 scan 430 g
13:20:30 ST-1 scan C-09
13:20:40 ST-1 scan T-28
13:20:50 ST-1 scan GLD`)
	b := tl.bench["ST-1"]
	if s := b.Shows(tl.floor); s.Tally != 1 || s.Carton != "C-09" || s.From != "T-28" || s.Kept == nil || s.Kept.In != 1 {
		t.Errorf("while placing: %+v", s)
	}
	tl.line("13:24:00 ST-1 scan !FINISH-CARTON", 1)
	defer func() {
		if said, _ := recover().(string); !strings.Contains(said, "numbers") {
			t.Errorf("it says %q", said)
		}
	}()
	b = tl.bench["ST-1"]
	t.Errorf("it shows %+v", b.Shows(tl.floor))
}

// The veil lets codes and the counter's own digits through, and no other number.
func TestTheVeil(t *testing.T) {
	b := &Bench{begun: begun{Number: "19"}}
	for text, through := range map[string]bool{
		"Count what is in C-07.": true, "So far 19.": true, "M-0019-X is on no piece.": true, "T-05 holds pieces set aside.": true, "": true,
		"T-05: 8 ready.": false, "21 in C-08.": false, "Label cancelled at 15:42.": false, "Seal 000418 was used.": false, "12,130 g": false, "x2": false, "2-x": false,
	} {
		if got := b.tellsNothing(text); got != through {
			t.Errorf("%q passes: %v", text, got)
		}
	}
}
