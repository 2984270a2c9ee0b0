package bench

import (
	"fmt"
	"os"
	"runtime"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"
)

// rounds is how often each thing is measured; medians are shown.
const rounds = 7

// BenchmarkFigures prints all figures as tables, with machine and date. Compare
// within one run only: what stands side by side was measured in turns.
//
//	go test -run '^$' -bench Figures -benchtime 1x ./...
func BenchmarkFigures(b *testing.B) {
	for range b.N {
		fmt.Printf("\n%s\n", machine(rounds))
		durable(b)
		replayed(b)
		fmt.Printf("Load average at the end: %s.\n\n", loadAverage())
	}
	b.ReportMetric(0, "ns/op")
}

func machine(rounds int) string {
	model := "unknown processor"
	if b, err := os.ReadFile("/proc/cpuinfo"); err == nil {
		for l := range strings.Lines(string(b)) {
			if k, v, ok := strings.Cut(l, ":"); ok && strings.TrimSpace(k) == "model name" {
				model = strings.TrimSpace(v)
			}
		}
	}
	measured := "Measured once."
	if rounds > 1 {
		measured = fmt.Sprintf("Medians of %d rounds in turns.", rounds)
	}
	return fmt.Sprintf("%s, %d cores, %s/%s, %s, %s; load average at the start: %s. %s",
		model, runtime.NumCPU(), runtime.GOOS, runtime.GOARCH, runtime.Version(), time.Now().Format(time.DateOnly), loadAverage(), measured)
}

func loadAverage() string {
	b, err := os.ReadFile("/proc/loadavg")
	if err != nil {
		return "not known"
	}
	return strings.Join(strings.Fields(string(b))[:3], " ")
}

// cpu gives the processor time this process has had: on a machine shared with
// others it says more than the clock does.
func cpu() time.Duration {
	var r syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &r); err != nil {
		panic(err)
	}
	return time.Duration(r.Utime.Nano() + r.Stime.Nano())
}

func median[T ~int64 | ~float64](list []T) T {
	return slices.Sorted(slices.Values(list))[len(list)/2]
}

// thousands writes 51234.5 as 51 235.
func thousands(v float64) string {
	s := fmt.Sprintf("%.0f", v)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + " " + s[i:]
	}
	return s
}

func millis(d time.Duration) string { return fmt.Sprintf("%.2f ms", float64(d.Microseconds())/1000) }
