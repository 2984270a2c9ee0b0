package natslog

import (
	"context"
	"errors"
	"testing"
	"time"

	"golang.org/x/sys/unix"

	"packwright/events"
)

// TestDiskFull fills a small disk. The store falls silent at the failed write;
// the log must say so at once, take nothing more, and give back every answered
// frame once there is room and it is opened anew.
func TestDiskFull(t *testing.T) {
	cfg := testConfig(t.TempDir())
	if err := unix.Mount("tmpfs", cfg.Dir, "tmpfs", 0, "size=12m"); err != nil {
		t.Skipf("a small disk of its own needs the right to mount: %v", err)
	}
	t.Cleanup(func() { _ = unix.Unmount(cfg.Dir, unix.MNT_DETACH) })
	l := open(t, cfg)
	answered := 0
	var full error
	started := time.Now()
	for full == nil && answered < 40 {
		started = time.Now()
		if full = l.Append(t.Context(), uint64(answered), large(answered+1)); full == nil {
			answered++
		}
	}
	if !errors.Is(full, ErrFull) || !errors.Is(full, events.ErrUnreachable) {
		t.Fatalf("after %d frames: %v, want ErrFull", answered, full)
	}
	if took := time.Since(started); took > cfg.AckWait/2 {
		t.Errorf("the writer waited %v for an answer that could not come", took)
	}
	if free, total, err := l.Free(); err != nil || free > total/8 {
		t.Errorf("free %d of %d, %v", free, total, err)
	}
	if err := l.Append(context.Background(), uint64(answered), text(1)); !errors.Is(err, ErrFull) {
		t.Fatalf("append after the failure: %v, want ErrFull", err)
	}
	l.Close()
	if err := unix.Mount("tmpfs", cfg.Dir, "tmpfs", unix.MS_REMOUNT, "size=40m"); err != nil {
		t.Fatal(err)
	}
	l = open(t, cfg)
	last, err := l.Last(t.Context())
	if err != nil || last < uint64(answered) || last > uint64(answered)+1 {
		t.Fatalf("last = %d, %v; %d were answered", last, err, answered)
	}
	for i := range answered + 2 {
		if err := l.Append(t.Context(), uint64(i), large(i+1)); err != nil {
			t.Fatalf("frame %d again: %v", i+1, err)
		}
	}
}
