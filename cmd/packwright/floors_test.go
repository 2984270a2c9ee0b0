package main

import (
	"flag"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"sync"
	"testing"
	"testing/synctest"

	"packwright/testdata/floors"
	"packwright/workflow"
)

// Random floors: days made up from a seed, plausible and hostile, played through
// the real engine on a log that loses frames and answers, fills up, and dies
// between any two steps. After each step a second opinion on where the goods are
// is compared with the floor's books; the audit follows frame by frame with the
// laws looking on; and at the end of each day the whole log is decided again.
//
//	go test ./cmd/packwright -run RandomFloors                      seeds 1 to 80
//	go test ./cmd/packwright -run RandomFloors -seed 17 -v          one day, told line by line
//	PACKWRIGHT_LONG=1 go test ./cmd/packwright -run RandomFloors    2 400 days
var (
	floorSeed = flag.Uint64("seed", 0, "the random floor to play, told line by line; with -days the first of so many")
	floorDays = flag.Int("days", 0, "how many random floors to play; 0: 80, or 2400 when PACKWRIGHT_LONG is set")
)

// trials is what a set of days came to.
type trials struct {
	mu                           sync.Mutex
	tally                        *floors.Tally
	days, events, frames, deaths int
	storms                       map[string]int
	left, wrong                  int
}

func (s *trials) add(d *floors.Day, t *trial) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.tally.Merge(d.Tally)
	s.days++
	s.events, s.frames, s.deaths = s.events+t.events, s.frames+int(t.read), s.deaths+t.deaths
	s.left, s.wrong = s.left+d.Left, s.wrong+d.Wrong
	for k, n := range t.storms {
		s.storms[k] += n
	}
}

func TestRandomFloors(t *testing.T) {
	first, days := uint64(1), *floorDays
	switch {
	case *floorSeed > 0:
		first, days = *floorSeed, max(1, days)
	case days > 0:
	case os.Getenv("PACKWRIGHT_LONG") != "":
		days = 2400
	case testing.Short():
		days = 20
	default:
		days = 80
	}
	sum := &trials{tally: floors.NewTally(), storms: map[string]int{}}
	t.Run("days", func(t *testing.T) {
		for shard := range runtime.GOMAXPROCS(0) {
			t.Run(fmt.Sprintf("shard %d", shard), func(t *testing.T) {
				t.Parallel()
				for i := shard; i < days; i += runtime.GOMAXPROCS(0) {
					seed := first + uint64(i)
					t.Run(fmt.Sprintf("seed %d", seed), func(t *testing.T) { playDay(t, seed, sum) })
				}
			})
		}
	})
	all, kept := sum.tally.Total()
	t.Logf("seeds %d to %d: %d days, %d frames, %d events; %d answers, %d kept; %d engines died; storms %v\n"+
		"%d cartons left, %d of them with other pieces than the books have\n%s",
		first, first+uint64(days)-1, sum.days, sum.frames, sum.events, all, kept, sum.deaths, sum.storms, sum.left, sum.wrong, sum.tally)
	if days >= 80 && !t.Failed() {
		sum.enough(t)
	}
}

// playDay plays a seed's day in a bubble of its own: the engine's waits cost no time.
func playDay(t *testing.T, seed uint64, sum *trials) {
	dir := t.TempDir()
	synctest.Test(t, func(t *testing.T) {
		d := floors.New(seed)
		tr := newTrial(t, d, dir)
		defer tr.end()
		d.Play(tr)
		tr.whole()
		sum.add(d, tr)
		if *floorSeed > 0 && *floorDays == 0 {
			t.Logf("seed %d\n%s", seed, tr.told(false))
		}
	})
}

// enough demands that the days were worth playing: each command of the gate
// table was kept, and most cartons left.
func (s *trials) enough(t *testing.T) {
	for _, name := range commandNames(t) {
		if name == "accept-loss" { // not of a day: TestAcceptedLoss
			continue
		}
		if s.tally.Kept(name) == 0 {
			t.Errorf("%d days, and no %s was kept", s.days, name)
		}
	}
	if s.left < 5*s.days {
		t.Errorf("only %d cartons left in %d days", s.left, s.days)
	}
	if all, kept := s.tally.Total(); kept*100 < all*60 {
		t.Errorf("%d of %d answers were kept: too few", kept, all)
	}
	if s.wrong*20 > s.left {
		t.Errorf("%d of %d cartons left with other pieces than the books have", s.wrong, s.left)
	}
	for _, storm := range []string{"slow", "lost before", "lost after", "full", "crash before", "crash after", "crash idle", "fenced"} {
		if s.storms[storm] == 0 {
			t.Errorf("no append met the storm %q", storm)
		}
	}
}

// commandNames reads the names of all rules out of the source, so that a new
// command that no day gives is noticed.
func commandNames(t *testing.T) []string {
	files, err := filepath.Glob(filepath.Join(root, "workflow", "*.go"))
	if err != nil {
		t.Fatal(err)
	}
	names := map[string]bool{}
	for _, file := range files {
		src, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range regexp.MustCompile(`rule\{Name: "([a-z-]+)"`).FindAllSubmatch(src, -1) {
			names[string(m[1])] = true
		}
	}
	if len(names) < 60 {
		t.Fatalf("only %d commands found in the source of workflow", len(names))
	}
	return slices.Sorted(maps.Keys(names))
}

// outcomeOf names an answer for the telling.
func outcomeOf(a floors.Answer) string {
	switch {
	case a.Err != nil:
		return "unknown: " + a.Err.Error()
	case a.Outcome == workflow.Kept:
		return fmt.Sprintf("kept %s", a.Seq)
	}
	return fmt.Sprintf("%s %s %s", a.Outcome, a.Code, a.Seq)
}
