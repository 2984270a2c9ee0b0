package memlog

import (
	"context"
	"errors"
	"fmt"
	"testing"

	"packwright/events"
	"packwright/events/logtest"
)

func TestConformance(t *testing.T) {
	logtest.Run(t, func(t *testing.T) (events.Log, func() events.Log) {
		l := New()
		t.Cleanup(func() { l.Close() })
		return l, func() events.Log { l = l.Reopen(); return l }
	})
}

func text(n int) []byte { return fmt.Appendf(nil, "frame %d", n) }

// TestLostBeforeLostAfter fails each append of a short day in both ways. A
// writer that sends the same frame again ends with the same log as one that
// was never disturbed.
func TestLostBeforeLostAfter(t *testing.T) {
	const frames = 6
	for n := 1; n <= frames; n++ {
		for _, when := range []When{Before, After} {
			t.Run(fmt.Sprintf("append %d when %d", n, when), func(t *testing.T) {
				l := New()
				l.Fault = At(n, when, ErrLost)
				for i := range frames {
					err := l.Append(t.Context(), uint64(i), text(i+1))
					if (err != nil) != (i+1 == n) {
						t.Fatalf("append %d: %v", i+1, err)
					}
					if err == nil {
						continue
					}
					if !errors.Is(err, events.ErrUnreachable) {
						t.Fatalf("append %d: %v, want ErrUnreachable", i+1, err)
					}
					want := i // what a crash at this instant leaves
					if when == After {
						want++
					}
					if got := len(l.Copy().Frames()); got != want {
						t.Fatalf("%d frames stored when append %d failed, want %d", got, i+1, want)
					}
					if err := l.Append(t.Context(), uint64(i), text(i+1)); err != nil {
						t.Fatal(err)
					}
				}
				for _, log := range []*Log{l, l.Reopen()} {
					for i, f := range log.Frames() {
						if string(f) != string(text(i+1)) {
							t.Fatalf("place %d holds %q", i+1, f)
						}
					}
					if got := len(log.Frames()); got != frames {
						t.Fatalf("%d frames, want %d", got, frames)
					}
				}
			})
		}
	}
}

// TestFaultsThatStay: a full disk and a lost leadership do not heal by
// themselves, and store nothing.
func TestFaultsThatStay(t *testing.T) {
	for _, c := range []struct{ heard, want error }{{ErrFull, events.ErrUnreachable}, {ErrFenced, events.ErrFenced}} {
		l := New(text(1))
		l.Fault = From(2, Before, c.heard)
		if err := l.Append(t.Context(), 1, text(2)); err != nil {
			t.Fatal(err)
		}
		for range 3 {
			err := l.Append(t.Context(), 2, text(3))
			if !errors.Is(err, c.heard) || !errors.Is(err, c.want) {
				t.Fatalf("heard %v, want %v", err, c.heard)
			}
		}
		if got := len(l.Frames()); got != 2 {
			t.Fatalf("%d frames, want 2", got)
		}
	}
}

// TestSlow: while a fault waits, the frame is not there (Before) or there but
// unanswered (After), and a second writer waits its turn.
func TestSlow(t *testing.T) {
	l := New()
	at, goOn := make(chan When), make(chan struct{})
	l.Fault = func(n int, when When) error {
		if n == 1 {
			at <- when
			<-goOn
		}
		return nil
	}
	done := make(chan error, 2)
	go func() { done <- l.Append(t.Context(), 0, text(1)) }()
	for _, want := range []int{0, 1} {
		<-at
		if got := len(l.Copy().Frames()); got != want {
			t.Fatalf("%d frames while the append waits, want %d", got, want)
		}
		select {
		case err := <-done:
			t.Fatalf("answered too early: %v", err)
		default:
		}
		goOn <- struct{}{}
	}
	if err := <-done; err != nil {
		t.Fatal(err)
	}
	if err := l.Append(t.Context(), 1, text(2)); err != nil {
		t.Fatal(err)
	}
}

func TestCloseEndsFollowers(t *testing.T) {
	l := New(text(1))
	done := make(chan error, 1)
	seen := make(chan struct{})
	go func() {
		done <- l.Follow(context.Background(), 1, func(seq uint64, f []byte) error { close(seen); return nil })
	}()
	<-seen
	l.Close()
	if err := <-done; !errors.Is(err, events.ErrUnreachable) {
		t.Fatalf("follower of a closed log: %v, want ErrUnreachable", err)
	}
}
