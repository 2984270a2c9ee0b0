package natslog

import (
	"errors"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/nats-io/nats-server/v2/server"
	"github.com/nats-io/nkeys"

	"packwright/events"
	"packwright/events/logtest"
)

// startBus runs a NATS of its own on loopback, with one user by key, and gives
// the settings to reach it.
func startBus(t *testing.T, dir string) (cfg Config, stop func()) {
	t.Helper()
	key, err := nkeys.CreateUser()
	if err != nil {
		t.Fatal(err)
	}
	public, err := key.PublicKey()
	if err != nil {
		t.Fatal(err)
	}
	seed, err := key.Seed()
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "hub.nk")
	if err := os.WriteFile(path, seed, 0o600); err != nil {
		t.Fatal(err)
	}
	srv, err := server.NewServer(&server.Options{
		Host: "127.0.0.1", Port: server.RANDOM_PORT, NoSigs: true, NoLog: true,
		JetStream: true, StoreDir: dir, SyncAlways: true,
		Nkeys: []*server.NkeyUser{{Nkey: public}},
	})
	if err != nil {
		t.Fatal(err)
	}
	srv.Start()
	if !srv.ReadyForConnections(10 * time.Second) {
		t.Fatal("the bus did not start")
	}
	stop = func() { srv.Shutdown(); srv.WaitForShutdown() }
	t.Cleanup(stop)
	cfg = testConfig("")
	cfg.URL, cfg.NKeySeed = srv.ClientURL(), path
	return cfg, stop
}

func TestConformanceExternal(t *testing.T) {
	logtest.Run(t, func(t *testing.T) (events.Log, func() events.Log) {
		cfg, _ := startBus(t, t.TempDir())
		l := open(t, cfg)
		return l, func() events.Log {
			l.Close()
			l = open(t, cfg)
			return l
		}
	})
}

// TestTwoWritersOnOneBus: no lock keeps a second writer from an external bus;
// the fence does.
func TestTwoWritersOnOneBus(t *testing.T) {
	cfg, _ := startBus(t, t.TempDir())
	a, b := open(t, cfg), open(t, cfg)
	fill(t, a, 3)
	if err := b.Append(t.Context(), 2, []byte("b's frame 3")); !errors.Is(err, events.ErrFenced) {
		t.Fatalf("b: %v, want ErrFenced", err)
	}
	fillFrom(t, b, 3, 4)
	if err := a.Append(t.Context(), 3, []byte("a's frame 4")); !errors.Is(err, events.ErrFenced) {
		t.Fatalf("a: %v, want ErrFenced", err)
	}
	wantFrames(t, a, 4)
}

// TestBusGone: what is under way ends with ErrUnreachable when patience does.
func TestBusGone(t *testing.T) {
	cfg, stop := startBus(t, t.TempDir())
	cfg.AckWait, cfg.Patience = 100*time.Millisecond, 500*time.Millisecond
	l := open(t, cfg)
	fill(t, l, 2)
	stop()
	none := func(uint64, []byte) error { return nil }
	for name, err := range map[string]error{
		"append": l.Append(t.Context(), 2, text(3)),
		"follow": l.Follow(t.Context(), 3, none),
	} {
		if !errors.Is(err, events.ErrUnreachable) {
			t.Errorf("%s: %v, want ErrUnreachable", name, err)
		}
	}
	if _, err := Open(t.Context(), cfg); !errors.Is(err, events.ErrUnreachable) {
		t.Errorf("open: %v, want ErrUnreachable", err)
	}
}
