package workflow

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"packwright/events"
	"packwright/prep"
)

// morning gives a teller whose floor has had its morning.
func morning(t *testing.T) *teller {
	tl := &teller{t: t, floor: NewFloor(nil), n: map[string]uint64{}, shown: &shown{map[string]map[Code]bool{}, map[string]bool{}}}
	tl.line("use morning", 1)
	return tl
}

// says gives one command and returns the first line of its answer.
func (tl *teller) says(format string, args ...any) string {
	return tl.line(fmt.Sprintf(format, args...), 0)[0]
}

// Whatever hands do to goods off the road, in any order: each lot keeps its sum
// (the teller checks it after every command), each hold's record agrees with
// the books, and units held for safety never move by a badge without a licence.
func TestHoldsAgreeWithTheBooks(t *testing.T) {
	seed := rand.Uint64()
	t.Logf("seed %d", seed)
	rnd := rand.New(rand.NewPCG(seed, 1))
	tl := morning(t)
	tl.says("08:44:00 BOARD maren enrol-badge badge=vera roles=[\"packer\"] licence=LIC-7")
	tl.says("08:44:01 BOARD vera sign-in")
	badges := []string{"ST-1 tobi", "ST-2 ife", "ST-3 sunniva", "BOARD maren", "BOARD odile", "BOARD vera"}
	places := []string{"T-03", "T-12", "T-30", "T-31", "A-ST-1", "A-ST-2", "A-ST-3", "A-BOARD"}
	lots := []string{"L-03", "L-12"}
	pick := func(list []string) string { return list[rnd.IntN(len(list))] }
	kept := 0
	for i := range 3000 {
		who, lot, place, q := pick(badges), pick(lots), pick(places), 1+rnd.IntN(5)
		hold := fmt.Sprintf("H-%02d", 1+rnd.IntN(tl.floor.Next.Hold+1))
		line := []string{
			fmt.Sprintf("triage lot=%s tote=%s q=%d verdict=%s reason=seen", lot, place, q, pick([]string{"prep", "hold", "divert", "writeoff"})),
			fmt.Sprintf("hold lot=%s from=%s q=%d reason=odd hazard=%t", lot, place, q, rnd.IntN(4) == 0),
			fmt.Sprintf("release-hold hold=%s q=%d reason=fine to=%s", hold, rnd.IntN(3), place),
			fmt.Sprintf("divert hold=%s q=%d channel=outlet reason=odd", hold, q),
			fmt.Sprintf("divert lot=%s from=%s q=%d channel=outlet reason=odd", lot, place, 1),
			fmt.Sprintf("write-off lot=%s from=%s stage=held q=%d reason=odd", lot, place, 1),
			fmt.Sprintf("declare-unaccounted lot=%s from=%s q=1 second=odile", lot, place),
			fmt.Sprintf("un-divert lot=%s tote=%s q=%d reason=back", lot, pick(places[:4]), q),
			fmt.Sprintf("split-tote lot=%s from=%s to=%s q=%d", lot, place, pick(places), q),
			fmt.Sprintf("clear-tote tote=%s", place),
		}[rnd.IntN(10)]
		hazards := heldForSafety(tl.floor)
		answer := tl.says("09:%02d:%02d %s %s", i/60%60, i%60, who, line)
		if answer == "kept" || answer[:4] == "call" {
			kept++
		}
		checkHolds(t, tl.floor)
		if who != "BOARD vera" && line[:4] != "decl" && heldForSafety(tl.floor) < hazards {
			t.Fatalf("%s %s: %s let units held for safety go", who, line, answer)
		}
		if t.Failed() {
			t.Fatalf("after %s %s: %s", who, line, answer)
		}
	}
	if kept < 100 {
		t.Errorf("only %d commands were kept: the day shows nothing", kept)
	}
}

// heldForSafety counts the units that only a licence holder may move.
func heldForSafety(f *Floor) (n int) {
	for _, h := range f.Holds {
		if h.Hazard {
			n += h.Q
		}
	}
	return n
}

// checkHolds compares the records of holds with what lies on hold.
func checkHolds(t *testing.T, f *Floor) {
	t.Helper()
	want := map[Key]int{}
	for _, h := range f.Holds {
		want[Key{h.Lot, events.Held, h.Place}] += h.Q
		if h.Q < 1 || len(h.Marks) > 0 && len(h.Marks) != h.Q {
			t.Errorf("hold %+v", h)
		}
	}
	for k, c := range f.Ledger.cells {
		if k.Stage == events.Held && want[k] != c.Qty() {
			t.Errorf("%v holds %d, its holds say %d", k, c.Qty(), want[k])
		}
		delete(want, k)
	}
	for k, n := range want {
		if n > 0 {
			t.Errorf("holds say %d in %v, where nothing lies", n, k)
		}
	}
}

func TestRulingTakesTheStrictestStop(t *testing.T) {
	f := morning(t).floor
	for _, x := range []struct {
		item, grade, arrival string
		rule                 string
		hazard               bool
	}{
		{"MG3", "", "", "", false},
		{"MG3", "a", "clean", "", false},
		{"MG3", "c", "", "P-29", false},
		{"MG3", "c", "pest", "P-33", false}, // held rather than diverted
		{"TRY", "b", "", "", false},         // no collectible: b will do
		{"RAD", "", "", "P-01", true},
		{"RAD", "c", "wet", "P-01", true}, // safety before all
	} {
		var seen prep.Attrs
		for name, word := range map[string]string{"grade": x.grade, "arrival": x.arrival} {
			if err := prep.SetAttr(&seen, name, word); err != nil {
				t.Fatal(err)
			}
		}
		got := f.ruling(x.item, seen)
		if got.stop.Rule != x.rule || got.hazard != x.hazard {
			t.Errorf("%s %s %s: rule %q, hazard %t; want %q, %t", x.item, x.grade, x.arrival, got.stop.Rule, got.hazard, x.rule, x.hazard)
		}
	}
	if r := NewFloor(nil).ruling("MG3", prep.Attrs{}); r.ask == "" {
		t.Error("without a rulebook nothing is asked")
	}
}

func TestBriefFitsTheLine(t *testing.T) {
	for in, want := range map[string]string{
		"magnet is not known. Is there a magnet in it?":                             "magnet is not known",
		"P-20 wants step wrap-each, but P-99 forbids wrap. Ask the owner.":          "P-20 wants step wrap-each, but P-99 forbids wrap",
		"warm-air and remover may never meet in one run. The rulebook must choose.": "warm-air and remover may never meet in one …",
	} {
		if got := brief(in); got != want {
			t.Errorf("brief(%q) = %q, want %q", in, got, want)
		}
	}
}
