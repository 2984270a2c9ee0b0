package natslog

import (
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/nats-io/nats.go"
)

// TestBenchOnTheBus: a bench in another process may ask and hear the answer,
// and nothing else.
func TestBenchOnTheBus(t *testing.T) {
	cfg := testConfig(t.TempDir())
	cfg.Listen, cfg.Token = "127.0.0.1:0", "a token / with signs?"
	l := open(t, cfg)
	fill(t, l, 2)
	if _, err := l.Conn().Subscribe("floor.f.do.*", func(m *nats.Msg) { _ = m.Respond([]byte("kept")) }); err != nil {
		t.Fatal(err)
	}
	denied := make(chan error, 10)
	bench, err := nats.Connect(l.BenchURL(), nats.ErrorHandler(func(_ *nats.Conn, _ *nats.Subscription, err error) { denied <- err }))
	if err != nil {
		t.Fatal(err)
	}
	defer bench.Close()
	answer, err := bench.Request("floor.f.do.p1", []byte("{}"), 5*time.Second)
	if err != nil || string(answer.Data) != "kept" {
		t.Fatalf("answer %v, %v", answer, err)
	}
	for _, try := range []struct {
		what string
		do   func() error
	}{
		{"a frame", func() error { return bench.Publish("floor.f.frame", []byte("forged")) }},
		{"an event", func() error { return bench.Publish("floor.f.event.unit.placed", nil) }},
		{"the stream's end", func() error { return bench.Publish("$JS.API.STREAM.DELETE.floor-f", nil) }},
		{"reading a frame", func() error {
			return bench.PublishRequest("$JS.API.DIRECT.GET.floor-f", bench.NewInbox(), []byte(`{"seq":1}`))
		}},
		{"another floor", func() error { return bench.Publish("floor.g.do.p1", nil) }},
		{"listening to events", func() error { _, err := bench.SubscribeSync("floor.f.event.>"); return err }},
		{"listening to commands", func() error { _, err := bench.SubscribeSync("floor.f.do.>"); return err }},
		{"listening to all", func() error { _, err := bench.SubscribeSync(">"); return err }},
	} {
		if err := errors.Join(try.do(), bench.Flush()); err != nil {
			t.Fatal(err)
		}
		select {
		case err := <-denied:
			if !errors.Is(err, nats.ErrPermissionViolation) {
				t.Fatalf("%s: %v", try.what, err)
			}
		case <-time.After(5 * time.Second):
			t.Fatalf("%s: not denied", try.what)
		}
	}
	wantFrames(t, l, 2)
	for _, url := range []string{"nats://" + bench.ConnectedAddr(), strings.Replace(l.BenchURL(), "token", "guess", 1)} {
		if c, err := nats.Connect(url); err == nil {
			c.Close()
			t.Fatalf("connected as %s", url)
		}
	}
}

// TestTokenMade: without a token of the owner's each opening makes its own.
func TestTokenMade(t *testing.T) {
	cfg := testConfig(t.TempDir())
	cfg.Listen = "127.0.0.1:0"
	urls := map[string]bool{}
	for range 2 {
		l := open(t, cfg)
		urls[l.server.token] = true
		l.Close()
	}
	if len(urls) != 2 || urls[""] {
		t.Fatalf("tokens %v", urls)
	}
}

// TestConsumersGone: readers leave nothing behind in the store, however they end.
func TestConsumersGone(t *testing.T) {
	l := open(t, testConfig(t.TempDir()))
	fill(t, l, 5)
	stop := errors.New("stop")
	for range 20 {
		if err := l.Scan(t.Context(), 1, func(uint64, []byte) error { return nil }); err != nil {
			t.Fatal(err)
		}
		if err := l.Follow(t.Context(), 4, func(uint64, []byte) error { return stop }); !errors.Is(err, stop) {
			t.Fatal(err)
		}
	}
	found, err := l.stream.Info(t.Context())
	if err != nil || found.State.Consumers != 0 {
		t.Fatalf("%d consumers left, %v", found.State.Consumers, err)
	}
}

// TestFreeSpace: the figures are this disk's.
func TestFreeSpace(t *testing.T) {
	l := open(t, testConfig(t.TempDir()))
	free, total, err := l.Free()
	if err != nil || free == 0 || total < free {
		t.Fatalf("free %d of %d, %v", free, total, err)
	}
	if _, _, err := (&Log{}).Free(); !errors.Is(err, errors.ErrUnsupported) {
		t.Fatalf("an external log: %v, want ErrUnsupported", err)
	}
}

// TestStoreLimit: the store's own limit answers at once, and what was answered stays.
func TestStoreLimit(t *testing.T) {
	cfg := testConfig(t.TempDir())
	cfg.MaxStore = 4 << 20
	l := open(t, cfg)
	for i := range 10 {
		err := l.Append(t.Context(), uint64(i), large(i+1))
		if err == nil {
			continue
		}
		if !errors.Is(err, ErrFull) {
			t.Fatalf("%v, want ErrFull", err)
		}
		if last, err := l.Last(t.Context()); err != nil || last != uint64(i) {
			t.Fatalf("last = %d, %v; want %d", last, err, i)
		}
		return
	}
	t.Fatal("7 MB went into a store of 4 MB")
}
