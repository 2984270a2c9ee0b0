package bench

import (
	"context"
	"testing"

	"packwright/events/natslog"
)

// openStore gives an embedded store in a directory of its own, each append
// synced to the disk.
func openStore(tb testing.TB) *natslog.Log {
	tb.Helper()
	log, err := natslog.Open(context.Background(), natslog.Config{Floor: Floor, Dir: tb.TempDir()})
	if err != nil {
		tb.Fatal(err)
	}
	tb.Cleanup(func() { log.Close() })
	return log
}

func BenchmarkDurable64(b *testing.B) {
	s := openShop(b, openStore(b), 64)
	defer s.e.Close()
	s.work(b, 100)
	h0 := s.e.Head()
	b.ReportAllocs()
	b.ResetTimer()
	each, all := s.work(b, b.N/64+1)
	h1 := s.e.Head()
	b.ReportMetric(float64(h1.Size-h0.Size)/float64(h1.Frame-h0.Frame), "ev/frame")
	b.ReportMetric(all.Seconds()*1e6/float64(h1.Frame-h0.Frame), "us/frame")
	b.ReportMetric(float64(b.N)/all.Seconds(), "commands/s")
	b.ReportMetric(float64(percentile(each, 50).Microseconds()), "p50us")
	b.ReportMetric(float64(percentile(each, 99).Microseconds()), "p99us")
}
