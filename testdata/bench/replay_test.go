package bench

import (
	"context"
	"testing"
	"time"

	"packwright/events/memlog"
	"packwright/events/proof"
	"packwright/workflow"
	"packwright/workflow/engine"
)

func BenchmarkReplayMem(b *testing.B) {
	log := memlog.New()
	s := openShop(b, log, 32)
	s.work(b, 100000/32)
	n := s.e.Head().Size
	s.e.Close()
	frames := log.Frames()
	b.ReportAllocs()
	b.ResetTimer()
	start := time.Now()
	for range b.N {
		floor, chain := workflow.NewFloor(nil), proof.Chain{Floor: Floor, Next: 1}
		if err := engine.Replay(context.Background(), log, floor, &chain); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(n)*float64(b.N)/time.Since(start).Seconds(), "ev/s")
	b.ReportMetric(float64(n)/float64(len(frames)), "ev/frame")
}
