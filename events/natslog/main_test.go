package natslog

import (
	"context"
	"fmt"
	"os"
	"testing"
	"time"

	"packwright/events"
	"packwright/events/logtest"
)

// TestMain lets the test binary play the process that is killed: see kill_test.go.
func TestMain(m *testing.M) {
	if dir := os.Getenv(childDir); dir != "" {
		os.Exit(child(dir))
	}
	os.Exit(m.Run())
}

// testConfig is short of patience, so that tests of lost answers are quick.
func testConfig(dir string) Config {
	return Config{Floor: "f", Dir: dir, Program: "natslog.test", AckWait: 2 * time.Second, Patience: 20 * time.Second}
}

func open(t testing.TB, cfg Config) *Log {
	t.Helper()
	l, err := Open(context.Background(), cfg)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { l.Close() })
	return l
}

func TestConformanceEmbedded(t *testing.T) {
	logtest.Run(t, func(t *testing.T) (events.Log, func() events.Log) {
		cfg := testConfig(t.TempDir())
		l := open(t, cfg)
		return l, func() events.Log {
			l.Close()
			l = open(t, cfg)
			return l
		}
	})
}

func text(n int) []byte { return fmt.Appendf(nil, "frame %d", n) }

// fill appends frames 1..n to an empty log.
func fill(t testing.TB, l *Log, n int) {
	t.Helper()
	for i := range n {
		if err := l.Append(context.Background(), uint64(i), text(i+1)); err != nil {
			t.Fatal(err)
		}
	}
}

// wantFrames compares the whole log with frames 1..n.
func wantFrames(t testing.TB, l *Log, n int) {
	t.Helper()
	seen := 0
	err := l.Scan(context.Background(), 1, func(seq uint64, f []byte) error {
		seen++
		if seq != uint64(seen) || string(f) != string(text(seen)) {
			return fmt.Errorf("place %d holds %d, %.60q", seen, seq, f)
		}
		return nil
	})
	if err != nil || seen != n {
		t.Fatalf("log holds %d frames, %v; want %d", seen, err, n)
	}
}
