package natslog

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"testing"
	"time"

	"github.com/nats-io/nats.go"

	"packwright/events"
)

var errDropped = errors.New("dropped by the test")

// sends counts what goes to the store and loses it as told: lose(n) for the
// nth send since the hook was set.
type sends struct {
	n    int
	real func(context.Context, *nats.Msg) (*nats.Msg, error)
	lose func(n int) when
}

type when int

const (
	keep   when = iota
	before      // the request is lost
	after       // the answer is lost
)

func (s *sends) request(ctx context.Context, msg *nats.Msg) (*nats.Msg, error) {
	s.n++
	how := s.lose(s.n)
	if how == before {
		return nil, errDropped
	}
	answer, err := s.real(ctx, msg)
	if how == after {
		return nil, errDropped
	}
	return answer, err
}

func hook(l *Log, lose func(n int) when) *sends {
	s := &sends{real: l.writer.RequestMsgWithContext, lose: lose}
	l.request = s.request
	return s
}

// TestLostOnce loses each send of a short day once, before and after the store
// has it. The writer sends again and never hears of it.
func TestLostOnce(t *testing.T) {
	const frames = 4
	for _, how := range []when{before, after} {
		for n := 1; n <= frames; n++ {
			t.Run(fmt.Sprintf("send %d lost %d", n, how), func(t *testing.T) {
				cfg := testConfig(t.TempDir())
				l := open(t, cfg)
				s := hook(l, func(i int) when {
					if i == n {
						return how
					}
					return keep
				})
				fill(t, l, frames)
				if s.n != frames+1 {
					t.Fatalf("%d sends, want %d", s.n, frames+1)
				}
				wantFrames(t, l, frames)
				l.Close()
				wantFrames(t, open(t, cfg), frames)
			})
		}
	}
}

// TestLostForGood loses everything until the writer's patience is over. It
// hears ErrUnreachable, and whether the frame is stored shows only afterwards:
// the same bytes settle it, other bytes are fenced if it was.
func TestLostForGood(t *testing.T) {
	for _, how := range []when{before, after} {
		t.Run(fmt.Sprint(how), func(t *testing.T) {
			cfg := testConfig(t.TempDir())
			cfg.Patience = 300 * time.Millisecond
			l := open(t, cfg)
			fill(t, l, 2)
			hook(l, func(int) when { return how })
			err := l.Append(t.Context(), 2, text(3))
			if how == before && !errors.Is(err, events.ErrUnreachable) {
				t.Fatalf("append: %v, want ErrUnreachable", err)
			}
			// With every answer lost the refusals of the resends are lost too.
			if how == after && !errors.Is(err, events.ErrUnreachable) {
				t.Fatalf("append: %v, want ErrUnreachable", err)
			}
			hook(l, func(int) when { return keep })
			other := l.Append(t.Context(), 2, []byte("another frame 3"))
			want := 2
			if how == after {
				want = 3
				if !errors.Is(other, events.ErrFenced) {
					t.Fatalf("other bytes: %v, want ErrFenced", other)
				}
				if err := l.Append(t.Context(), 2, text(3)); err != nil {
					t.Fatalf("the same bytes again: %v", err)
				}
			} else if other != nil {
				t.Fatalf("other bytes at a place never stored: %v", other)
			}
			l.Close()
			l = open(t, cfg)
			if last, err := l.Last(t.Context()); err != nil || last != 3 {
				t.Fatalf("last = %d, %v", last, err)
			}
			for i := range want {
				if f, err := l.Read(t.Context(), uint64(i)+1); err != nil || string(f) != string(text(i+1)) {
					t.Fatalf("frame %d is %q, %v", i+1, f, err)
				}
			}
		})
	}
}

// TestLateLanding: the first send is only slow. It lands after the frame has
// been sent again and stored, and after the next one: it must change nothing.
func TestLateLanding(t *testing.T) {
	l := open(t, testConfig(t.TempDir()))
	var late *nats.Msg
	l.request = func(ctx context.Context, msg *nats.Msg) (*nats.Msg, error) {
		if late == nil {
			late = msg
			return nil, context.DeadlineExceeded
		}
		return l.writer.RequestMsgWithContext(ctx, msg)
	}
	fill(t, l, 2)
	for range 2 {
		if _, err := l.writer.RequestMsgWithContext(t.Context(), late); err != nil {
			t.Fatal(err)
		}
	}
	wantFrames(t, l, 2)
	fillFrom(t, l, 2, 4)
	wantFrames(t, l, 4)
}

func fillFrom(t testing.TB, l *Log, from, to int) {
	t.Helper()
	for i := from; i < to; i++ {
		if err := l.Append(context.Background(), uint64(i), text(i+1)); err != nil {
			t.Fatal(err)
		}
	}
}

// TestConnectionsKilled cuts the writer's and the reader's connections while
// frames are appended and followed. Every frame is stored once and seen once.
func TestConnectionsKilled(t *testing.T) {
	const frames = 200
	cfg := testConfig(t.TempDir())
	cfg.AckWait = 100 * time.Millisecond
	l := open(t, cfg)
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	var wg sync.WaitGroup
	seen := 0
	wg.Go(func() {
		follow, enough := context.WithCancel(ctx)
		defer enough()
		err := l.Follow(follow, 1, func(seq uint64, f []byte) error {
			if seen++; seq != uint64(seen) || string(f) != string(text(seen)) {
				return fmt.Errorf("place %d: saw %d, %q", seen, seq, f)
			}
			if seen == frames {
				enough()
			}
			return nil
		})
		if err != nil {
			t.Error(err)
		}
	})
	cut := make(chan struct{})
	wg.Go(func() {
		for kills := 0; ; kills++ {
			select {
			case <-cut:
				t.Logf("%d connections cut", kills)
				return
			case <-time.After(60 * time.Millisecond):
			}
			conn := []*nats.Conn{l.writer, l.reader}[kills%2]
			if id, err := conn.GetClientID(); err == nil {
				_ = l.server.srv.DisconnectClientByID(id)
			}
		}
	})
	for i := range frames {
		if err := l.Append(t.Context(), uint64(i), text(i+1)); err != nil {
			t.Fatal(err)
		}
		if i%20 == 0 {
			time.Sleep(20 * time.Millisecond) // let a few cuts fall in
		}
	}
	close(cut)
	wg.Wait()
	wantFrames(t, l, frames)
}

// TestClusterCode: a cluster says "wrong last sequence" with a second code.
func TestClusterCode(t *testing.T) {
	l := open(t, testConfig(t.TempDir()))
	fill(t, l, 1)
	l.request = func(context.Context, *nats.Msg) (*nats.Msg, error) {
		return &nats.Msg{Data: []byte(`{"error":{"code":400,"err_code":10164,"description":"wrong last sequence"},"stream":"floor-f","seq":0}`)}, nil
	}
	if err := l.Append(t.Context(), 0, text(1)); err != nil {
		t.Fatalf("our own frame, refused with the second code: %v", err)
	}
	if err := l.Append(t.Context(), 0, text(9)); !errors.Is(err, events.ErrFenced) {
		t.Fatalf("another's frame: %v, want ErrFenced", err)
	}
	// Nothing stands there yet: a first send may still be on its way through
	// the cluster. It is asked for until patience ends, never taken for granted.
	ctx, cancel := context.WithTimeout(t.Context(), 200*time.Millisecond)
	defer cancel()
	if err := l.Append(ctx, 1, text(2)); !errors.Is(err, events.ErrUnreachable) {
		t.Fatalf("nothing there: %v, want ErrUnreachable", err)
	}
}

// TestCloseEndsAll: calls under way end when the log is closed.
func TestCloseEndsAll(t *testing.T) {
	l := open(t, testConfig(t.TempDir()))
	fill(t, l, 1)
	hook(l, func(int) when { return before })
	started := make(chan struct{})
	done := make(chan error, 2)
	go func() {
		done <- l.Follow(context.Background(), 1, func(uint64, []byte) error { close(started); return nil })
	}()
	go func() { done <- l.Append(context.Background(), 1, text(2)) }()
	<-started
	l.Close()
	for range 2 {
		if err := <-done; !errors.Is(err, events.ErrUnreachable) {
			t.Fatalf("ended with %v, want ErrUnreachable", err)
		}
	}
	if err := l.Close(); err != nil {
		t.Fatalf("second close: %v", err)
	}
}
