package workflow

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	json "github.com/goccy/go-json"
)

// tellTo plays a story without checking its answers and gives its teller.
func tellTo(t *testing.T, src string) *teller {
	tl := newTeller(t, &shown{map[string]map[Code]bool{}, map[string]bool{}})
	tl.tell(src)
	return tl
}

// From FINISH CARTON until the count is in, whatever is scanned at the bench,
// no sentence tells what was planned, scanned or expected.
func TestBenchIsBlindWhileItCounts(t *testing.T) {
	story := `use morning
use packing
13:20:20 ST-1 scan 430 g
13:20:30 ST-1 scan C-09
13:20:40 ST-1 scan T-28
13:20:50 ST-1 scan GLD
13:20:53 ST-1 scan N-13
13:24:00 ST-1 scan !FINISH-CARTON`
	began := tellTo(t, story)
	if c := began.floor.Cartons["C-09"]; c.State != CartonCounting || began.floor.Ledger.QtyAt("C-09") != 13 {
		t.Fatalf("the story left C-09 %s with %d", c.State, began.floor.Ledger.QtyAt("C-09"))
	}
	snapshot, err := json.Marshal(began.floor)
	if err != nil {
		t.Fatal(err)
	}
	scans := []string{"T-28", "C-09", "C-10", "C-05", "GLD", "DSC", "9520000010140", "M-0001", "BW-18", "000401", "2999 g", "ST-2", "A-ST-1",
		"X-01", "B-tobi", "B-ife", "L-05", "R-05", "LD-1", "12", "!ENTER"}
	for _, c := range Cards {
		scans = append(scans, "!"+c.Word)
	}
	rng := rand.New(rand.NewPCG(1, 2))
	for _, first := range scans {
		tl := newTeller(t, began.shown)
		if tl.floor, err = ReadFloor(snapshot, began.floor.Policy()); err != nil {
			t.Fatal(err)
		}
		bench := *began.bench["ST-1"]
		tl.bench["ST-1"], tl.frame, tl.n = &bench, began.frame, map[string]uint64{}
		seen := []string{}
		for i, raw := range append([]string{first}, pick(rng, scans, 12)...) {
			seen = append(seen, raw)
			for _, line := range tl.line(fmt.Sprintf("13:%d:00 ST-1 scan %s", 30+i, raw), 1) {
				says, ok := strings.CutPrefix(line, "says ")
				if !ok || tl.floor.Cartons["C-09"].State != CartonCounting {
					continue
				}
				for _, number := range []string{"13", "14", "2830", "3010"} { // scanned, planned, and what each would weigh
					if strings.Contains(says, number) {
						t.Errorf("after %v the bench says %q", seen, says)
					}
				}
			}
		}
	}
}

func pick(rng *rand.Rand, from []string, n int) (out []string) {
	for range n {
		out = append(out, from[rng.IntN(len(from))])
	}
	return out
}

// A lost answer is asked for again under the command's own number, and what
// follows is one piece of work.
func TestBenchAsksAgain(t *testing.T) {
	tl := tellTo(t, "use morning\nuse packing\n13:20:30 ST-1 scan C-09\n13:20:40 ST-1 scan T-28")
	b := tl.bench["ST-1"]
	tl.now = storyTime(t, "13:21")
	said := b.Scan(tl.floor, "GLD", tl.now)
	if said.Command == nil || b.Pending() != said.Command {
		t.Fatalf("%+v", said)
	}
	outcome, refusal, _ := tl.judge(*b.Pending())
	again, refusal2, _ := tl.judge(*b.Pending()) // the first answer was lost
	if outcome != Kept || again != Already || refusal != nil || refusal2 != nil {
		t.Errorf("%s, then %s", outcome, again)
	}
	if said = b.Answer(tl.floor, again, refusal2); said.Outcome != Already || said.Text != "1 in C-09." {
		t.Errorf("%+v", said)
	}
	if b.Pending() != nil || b.Answer(tl.floor, Kept, nil) != (Said{}) {
		t.Error("an answer to nothing is something")
	}
	if n := b.N; b.Scan(tl.floor, "!ENTER", tl.now.Add(2e9)).Command != nil || b.N != n {
		t.Error("a sentence used up a command's number")
	}
}

// Numbers of commands have no gaps, whatever chain of commands is cut short.
func TestBenchNumbersHaveNoGaps(t *testing.T) {
	tl := tellTo(t, `use morning
use packing
13:20:30 ST-1 scan C-10
13:20:40 ST-1 scan GLD
13:21:00 ST-1 scan !FINISH-CARTON
13:21:10 ST-1 scan 3
13:21:12 ST-1 scan !ENTER
13:21:20 ST-1 scan C-10
13:22:00 ST-1 scan !TAKE-OUT
13:22:10 ST-1 scan GLD`)
	kept := tl.floor.Stations["ST-1"].Epochs["s"].Kept
	b := tl.bench["ST-1"]
	given := 0
	for n := uint64(1); n <= b.N; n++ {
		if kept.has(n) {
			given++
		}
	}
	if b.N == 0 || len(tl.told) != int(b.N) {
		t.Errorf("numbered up to %d, given %d, kept %d", b.N, len(tl.told), given)
	}
}

func TestBenchTakesEachCard(t *testing.T) {
	for _, c := range Cards {
		b := &Bench{Station: "ST-1", Epoch: "s"}
		f := NewFloor(nil)
		f.Stations["ST-1"] = &Station{Name: "ST-1"}
		said := b.Scan(f, c.Code(), storyTime(t, "09:00"))
		if said.Command == nil && said.Text == "" {
			t.Errorf("%s is answered with nothing", c.Word)
		}
		if actions[c.Word] == nil && c.Word != "CANCEL" && !strings.Contains(said.Text, "answers no question") {
			t.Errorf("%s does nothing anywhere: %+v", c.Word, said)
		}
	}
	for word := range actions {
		if !knownCard(word) {
			t.Errorf("%s acts and has no card", word)
		}
	}
}
