package workflow

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"packwright/events"
)

// goodsMoving lists the events of the table in package events: no others move cells.
var goodsMoving = []events.Type{"lot.received", "lot.corrected", "tote.split", "units.triaged", "units.held", "hold.released",
	"units.diverted", "units.returned-to-floor", "units.written-off", "units.unaccounted", "units.prepped", "unit.spoiled", "bundle.built",
	"mark.voided", "unit.marked", "unit.placed", "unit.taken-out", "count.accepted", "count.voided", "carton.sealed", "carton.reopened",
	"carton.dispatched", "dispatch.cancelled"}

// toldStory is what a story put into the log, and the digest of all cells after each event.
type toldStory struct {
	name  string
	list  []events.Event
	cells []events.Digest
}

func toldStories(t *testing.T) (out []toldStory) {
	files, err := filepath.Glob(filepath.Join(storyDir, "[^_]*.txt"))
	if err != nil {
		t.Fatal(err)
	}
	for _, file := range files {
		src, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		s := toldStory{name: filepath.Base(file)}
		tl := newTeller(t, &shown{map[string]map[Code]bool{}, map[string]bool{}})
		tl.heard = func(e events.Event) {
			s.list, s.cells = append(s.list, e), append(s.cells, tl.floor.Ledger.Digest())
		}
		tl.tell(string(src))
		out = append(out, s)
	}
	return out
}

// TestLeftOutOrDoubled: a decider's fold that leaves out one type of
// goods-moving event, or takes it twice, has other cells than the header says at
// that very event. Every type of the table is met in some story.
func TestLeftOutOrDoubled(t *testing.T) {
	told := toldStories(t)
	for _, kind := range goodsMoving {
		met := false
		for _, s := range told {
			if i := s.firstMove(kind); i >= 0 {
				met = true
				for _, times := range []int{0, 2} {
					if s.sameAfter(t, i, times) {
						t.Errorf("%s: %s taken %d times, and the cells say nothing", s.name, kind, times)
					}
				}
				break
			}
		}
		if !met {
			t.Errorf("no story moves goods by %s", kind)
		}
	}
}

// firstMove finds the first event of a type that changed the cells, or -1.
func (s toldStory) firstMove(kind events.Type) int {
	for i := range s.list {
		if s.list[i].Type() == kind && i > 0 && s.cells[i] != s.cells[i-1] {
			return i
		}
	}
	return -1
}

// sameAfter replays up to event i, taking it so many times, and says whether the
// cells are still what the log says.
func (s toldStory) sameAfter(t *testing.T, i, times int) bool {
	f := NewFloor(nil)
	for j := range s.list[:i] {
		if err := f.Apply(&s.list[j]); err != nil {
			t.Fatal(err)
		}
	}
	for range times {
		if err := f.Apply(&s.list[i]); err != nil {
			if !errors.Is(err, events.ErrCorrupt) || !strings.HasPrefix(err.Error(), s.list[i].Seq.String()) {
				t.Fatalf("%s: %v", s.name, err)
			}
			return false
		}
	}
	return f.Ledger.Digest() == s.cells[i]
}

// TestOtherTypesMoveNothing is the reverse.
func TestOtherTypesMoveNothing(t *testing.T) {
	moves := map[events.Type]bool{}
	for _, k := range goodsMoving {
		moves[k] = true
	}
	for _, s := range toldStories(t) {
		for i := 1; i < len(s.list); i++ {
			if !moves[s.list[i].Type()] && s.cells[i] != s.cells[i-1] {
				t.Errorf("%s: %s %s changed the cells", s.name, s.list[i].Seq, s.list[i].Type())
			}
		}
	}
}
