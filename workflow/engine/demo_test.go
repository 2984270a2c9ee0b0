package engine

import (
	"context"
	"testing"

	"github.com/rs/zerolog"

	"packwright/events"
	"packwright/events/memlog"
	"packwright/testdata/demo"
	"packwright/workflow"
)

// direct is the demo's door straight into a writer.
type direct struct{ e *Engine }

func (d direct) Do(ctx context.Context, c workflow.Command) (workflow.Outcome, workflow.Code, error) {
	a, err := d.e.Do(ctx, c)
	if err != nil || a.Refusal == nil {
		return a.Outcome, "", err
	}
	return a.Outcome, a.Refusal.Code, nil
}

func (d direct) Head(context.Context) (demo.Head, error) {
	h := d.e.Head()
	return demo.Head{Seq: events.Seq{Frame: h.Frame}, Size: h.Size, Root: h.Root}, nil
}

// pinned are the counts that follow from the day itself.
var pinned = map[events.Type]int{
	"lot.announced": 13, "lot.received": 13, "lot.shortfall-noted": 1, "units.triaged": 15, "rulebook.published": 2,
	"plan.released": 1, "plan.amended": 1, "plan.closed": 1, "run.opened": 12, "run.closed": 12, "material.swapped": 1,
	"bundle.built": 1, "unit.spoiled": 1, "carton.opened": 14, "unit.placed": 224, "unit.taken-out": 3, "mark.voided": 2,
	"unit.marked": 2, "carton.weighed": 18, "count.entered": 19, "count.accepted": 15, "carton.sealed": 15, "carton.reopened": 1,
	"carton.dispatched": 14, "mismatch.raised": 2, "mismatch.resolved": 2, "scan.refused": 1, "station.quiet": 1,
	"station.caught-up": 1, "claim.opened": 2, "claim.traced": 2, "claim.decided": 2, "claim.closed": 2,
}

func TestDemoDay(t *testing.T) {
	policy, err := workflow.ParsePolicy("policy.yaml", demo.Policy)
	if err != nil {
		t.Fatal(err)
	}
	clock := &demo.Clock{}
	log := memlog.New()
	e, err := Open(t.Context(), Config{Log: log, Floor: demo.Floor, Policy: policy, Now: clock.Now, Logger: zerolog.Nop()})
	if err != nil {
		t.Fatal(err)
	}
	defer e.Close()
	if err := demo.Play(t.Context(), demo.Day(), clock, direct{e}); err != nil {
		t.Fatal(err)
	}
	got := map[events.Type]int{}
	for seq, frame := range log.Frames() {
		_, lines, _ := events.SplitFrame(frame)
		evs, err := events.DecodeLines(uint64(seq+1), lines)
		if err != nil {
			t.Fatal(err)
		}
		for i := range evs {
			got[evs[i].Type()]++
		}
	}
	for k, n := range pinned {
		if got[k] != n {
			t.Errorf("%s: %d, the day has %d", k, got[k], n)
		}
	}
}
