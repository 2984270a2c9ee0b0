package bench

import (
	"testing"

	"packwright/events/memlog"
)

// BenchmarkEngine is the writer alone: 64 benches over a log in memory. Its
// profile shows what the floor's rules cost, without the disk.
func BenchmarkEngine(b *testing.B) {
	s := openShop(b, memlog.New(), 64)
	defer s.e.Close()
	b.ReportAllocs()
	b.ResetTimer()
	_, all := s.work(b, b.N/64+1)
	b.ReportMetric(float64(b.N)/all.Seconds(), "commands/s")
}
