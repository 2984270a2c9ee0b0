package proof_test

import (
	"fmt"
	"testing"

	"packwright/events"
	"packwright/events/memlog"
	"packwright/events/proof"
)

// BenchmarkFill makes evidence about one event in 2,000 out of a log of 102,400, at
// 32 events a frame: two readings of the log, the proofs included.
func BenchmarkFill(b *testing.B) {
	var tree proof.Tree
	var frames [][]byte
	for f := range 3200 {
		var lines [][]byte
		for i := range 32 {
			line, err := events.Encode(nil, &events.Event{Cause: fmt.Sprintf("ST-1/1/%d", f*32+i+1), Data: &events.ToteCleared{Tote: fmt.Sprint("T-", (f*32+i)%2000)}})
			if err != nil {
				b.Fatal(err)
			}
			lines = append(lines, line)
		}
		frame, err := events.EncodeFrame(events.Header{Floor: "lantern-yard", Size: tree.Size, Root: tree.Root()}, lines)
		if err != nil {
			b.Fatal(err)
		}
		for _, l := range lines {
			tree.Add(l)
		}
		frames = append(frames, frame)
	}
	head, err := events.SignHead(signer(b), uint64(len(frames)), tree.Size, tree.Root())
	if err != nil {
		b.Fatal(err)
	}
	log := memlog.New(frames...)
	for b.Loop() {
		v := &proof.Evidence{Log: head.Log, Head: head}
		if err := v.Fill(b.Context(), log, func(e *events.Event) bool { return e.Data.(*events.ToteCleared).Tote == "T-7" }); err != nil {
			b.Fatal(err)
		}
		if len(v.Events) != 52 {
			b.Fatal(len(v.Events))
		}
	}
	b.ReportMetric(float64(tree.Size)*float64(b.N)/b.Elapsed().Seconds(), "events/s")
}
