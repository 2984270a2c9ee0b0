package bench

import (
	"testing"
	"time"

	"github.com/rs/zerolog"

	"packwright/audit/follow"
	"packwright/events/memlog"
	"packwright/events/proof"
	"packwright/workflow"
	"packwright/workflow/engine"
)

// TestRoundIsKept: every command of the load passes its gates, and a round
// leaves the floor with nothing on it.
func TestRoundIsKept(t *testing.T) {
	log := memlog.New()
	e, err := engine.Open(t.Context(), engine.Config{Log: log, Floor: Floor, Now: time.Now, Logger: zerolog.Nop()})
	if err != nil {
		t.Fatal(err)
	}
	defer e.Close()
	give := func(list []workflow.Command) {
		for _, c := range list {
			a, err := e.Do(t.Context(), c)
			if err != nil || a.Outcome != workflow.Kept {
				t.Fatalf("%s %s %s: %s %v %v", c.ID, c.Type, c.Data, a.Outcome, a.Refusal, err)
			}
		}
	}
	give(Founding(2))
	placed := 0
	for i := range 2 {
		b := NewBench(i)
		for range 3 {
			round := b.Round()
			for _, c := range round {
				if c.Type == "place" {
					placed++
				}
			}
			if len(round) != roundCommands {
				t.Errorf("a round is of %d commands, said to be of %d", len(round), roundCommands)
			}
			give(round)
		}
	}
	if placed != 6*(jars+boxes) {
		t.Errorf("%d placements", placed)
	}
	err = e.View(t.Context(), func(f *workflow.Floor) {
		if len(f.Cartons)+len(f.Plans)+len(f.Loads)+len(f.Units)+len(f.Lots)+len(f.Runs) > 0 {
			t.Errorf("left: %d cartons, %d plans, %d loads, %d units, %d lots, %d runs",
				len(f.Cartons), len(f.Plans), len(f.Loads), len(f.Units), len(f.Lots), len(f.Runs))
		}
	})
	if err != nil {
		t.Fatal(err)
	}
}

// TestFramesAreBelieved: the logs that figures are taken of are real ones.
func TestFramesAreBelieved(t *testing.T) {
	for _, per := range []int{1, 32} {
		frames, err := Frames(5_000, 3, per)
		if err != nil {
			t.Fatal(err)
		}
		log := memlog.New(frames...)
		floor, chain := workflow.NewFloor(nil), proof.Chain{Floor: Floor, Next: 1}
		if err := engine.Replay(t.Context(), log, floor, &chain); err != nil {
			t.Fatal(err)
		}
		f := follow.New()
		if err := f.CatchUp(t.Context(), log); err != nil {
			t.Fatal(err)
		}
		if c := f.Checkpoint(); c.Size != chain.Tree.Size || c.Size < 5_000 || c.Seq != uint64(len(frames)) {
			t.Errorf("%d a frame: %+v, %d frames, tree of %d", per, c, len(frames), chain.Tree.Size)
		}
	}
}
