package natslog

import (
	"context"
	"sync/atomic"
	"testing"
	"time"

	"github.com/nats-io/nats.go"
)

// TestNothingDropped: small frames and large ones reach a reader that dawdles
// without one being dropped on the way, and never more than twice pullBytes of
// them wait for it.
func TestNothingDropped(t *testing.T) {
	cfg := testConfig(t.TempDir())
	cfg.NoSync = true
	l := open(t, cfg)
	var wrong atomic.Pointer[error]
	l.reader.SetErrorHandler(func(_ *nats.Conn, _ *nats.Subscription, err error) { wrong.Store(&err) })
	const small, big = 3000, 40
	fill(t, l, small)
	for i := small; i < small+big; i++ {
		if err := l.Append(t.Context(), uint64(i), large(i+1)); err != nil {
			t.Fatal(err)
		}
	}
	fill := func(from uint64, n int) {
		for i := from; i < from+uint64(n); i++ {
			if err := l.Append(t.Context(), i, text(int(i+1))); err != nil {
				t.Fatal(err)
			}
		}
	}
	fill(small+big, small)
	read := 0
	err := l.Scan(t.Context(), 1, func(seq uint64, frame []byte) error {
		if read++; seq != uint64(read) {
			t.Fatalf("frame %d came where %d was due", seq, read)
		}
		if seq > small && seq <= small+big {
			time.Sleep(5 * time.Millisecond)
		}
		return nil
	})
	if err != nil || read != 2*small+big {
		t.Fatalf("%d frames read, %v", read, err)
	}
	if err := wrong.Load(); err != nil {
		t.Errorf("on the reader's connection: %v", *err)
	}
	if most := mostWaiting(t, l, small, big); most > 2*pullBytes {
		t.Errorf("%d bytes waited for the reader", most)
	}
}

// mostWaiting lets a reader of the large frames dawdle and gives the most bytes
// that waited for it in the client.
func mostWaiting(t *testing.T, l *Log, before, big int) (most int) {
	t.Helper()
	consumer, err := l.stream.CreateConsumer(t.Context(), consumerFrom(1))
	if err != nil {
		t.Fatal(err)
	}
	defer l.dropConsumer(consumer.CachedInfo().Name)
	p, err := l.newPuller(consumer.CachedInfo().Name)
	if err != nil {
		t.Fatal(err)
	}
	defer p.stop()
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second)
	defer cancel()
	for i := range before + big {
		msg, err := p.next(ctx)
		if err != nil {
			t.Fatal(err)
		}
		if i < before {
			continue
		}
		time.Sleep(2 * time.Millisecond)
		most = max(most, min(len(p.come), before+big-1-i)*len(msg.Data)) // small frames follow the large ones
	}
	return most
}
