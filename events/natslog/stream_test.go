package natslog

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/nats-io/nats.go/jetstream"

	"packwright/events"
)

// refused opens a store that must not be believed and checks what is said.
func refused(t *testing.T, cfg Config, words ...string) {
	t.Helper()
	l, err := Open(context.Background(), cfg)
	if err == nil {
		l.Close()
		t.Fatal("opened")
	}
	if !errors.Is(err, events.ErrCorrupt) {
		t.Fatalf("%v, want ErrCorrupt", err)
	}
	for _, w := range words {
		if !strings.Contains(err.Error(), w) {
			t.Errorf("%q does not say %q", err, w)
		}
	}
}

// TestStreamRefused changes the stream behind the log's back, as anyone with
// rights on the bus's administration could.
func TestStreamRefused(t *testing.T) {
	change := func(edit func(*jetstream.StreamConfig)) func(*testing.T, *Log) {
		return func(t *testing.T, l *Log) {
			cfg := l.stream.CachedInfo().Config
			edit(&cfg)
			if _, err := l.js.UpdateStream(t.Context(), cfg); err != nil {
				t.Fatal(err)
			}
		}
	}
	for _, c := range []struct {
		name  string
		do    func(*testing.T, *Log)
		words []string
	}{
		{"limit", change(func(c *jetstream.StreamConfig) { c.MaxMsgs = 100 }), []string{"MaxMsgs is 100, must be -1"}},
		{"wider subjects", change(func(c *jetstream.StreamConfig) { c.Subjects = []string{"floor.f.>"} }), []string{"Subjects", "floor.f.>"}},
		{"age", change(func(c *jetstream.StreamConfig) { c.MaxAge = 1 << 40 }), []string{"MaxAge"}},
		{"no direct reads", change(func(c *jetstream.StreamConfig) { c.AllowDirect = false }), []string{"AllowDirect is false"}},
		{"republish and age", change(func(c *jetstream.StreamConfig) {
			c.RePublish = &jetstream.RePublish{Source: ">", Destination: "copy.>"}
			c.MaxBytes = 1 << 30
		}), []string{"RePublish", "MaxBytes"}},
		{"frames thrown away by a limit that is gone again", func(t *testing.T, l *Log) {
			change(func(c *jetstream.StreamConfig) { c.MaxMsgs = 2; c.Discard = jetstream.DiscardOld })(t, l)
			change(func(c *jetstream.StreamConfig) { c.MaxMsgs = -1; c.Discard = jetstream.DiscardNew })(t, l)
		}, []string{"first frame is 3, must be 1"}},
		{"deleted", func(t *testing.T, l *Log) {
			if err := l.js.DeleteStream(t.Context(), "floor-f"); err != nil {
				t.Fatal(err)
			}
		}, []string{"missing"}},
		{"deleted and founded anew from outside", func(t *testing.T, l *Log) {
			cfg := wanted(l.cfg)
			cfg.FirstSeq = 5
			if err := l.js.DeleteStream(t.Context(), "floor-f"); err != nil {
				t.Fatal(err)
			}
			if _, err := l.js.CreateStream(t.Context(), cfg); err != nil {
				t.Fatal(err)
			}
		}, []string{"FirstSeq is 5, must be 0"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			cfg := testConfig(t.TempDir())
			l := open(t, cfg)
			fill(t, l, 4)
			c.do(t, l)
			l.Close()
			refused(t, cfg, c.words...)
		})
	}
}

// TestPurgeAndDeleteDenied: the stream itself says no to the plain ways of
// losing frames.
func TestPurgeAndDeleteDenied(t *testing.T) {
	l := open(t, testConfig(t.TempDir()))
	fill(t, l, 3)
	if err := l.stream.Purge(t.Context()); err == nil {
		t.Error("purged")
	}
	if err := l.stream.DeleteMsg(t.Context(), 2); err == nil {
		t.Error("deleted")
	}
	wantFrames(t, l, 3)
}

// TestFoundedByHalves: a crash while the stream is founded leaves any part of it.
// The next start founds it whole, so that the one after that finds it.
func TestFoundedByHalves(t *testing.T) {
	for _, lost := range []string{"meta.sum", "meta.inf", "msgs"} {
		t.Run(lost, func(t *testing.T) {
			cfg := testConfig(t.TempDir())
			open(t, cfg).Close()
			dir := filepath.Join(cfg.Dir, "jetstream", "$G", "streams", "floor-f")
			for _, path := range []string{filepath.Join(dir, lost), filepath.Join(dir, "msgs", "index.db"), filepath.Join(cfg.Dir, foundedName)} {
				if err := os.RemoveAll(path); err != nil {
					t.Fatal(err)
				}
			}
			l := open(t, cfg)
			fill(t, l, 3)
			l.Close()
			wantFrames(t, open(t, cfg), 3)
		})
	}
}

func TestOtherFloor(t *testing.T) {
	cfg := testConfig(t.TempDir())
	open(t, cfg).Close()
	cfg.Floor = "g"
	refused(t, cfg, `holds floor "f", not "g"`)
	if err := os.WriteFile(filepath.Join(cfg.Dir, foundedName), []byte("{"), 0o600); err != nil {
		t.Fatal(err)
	}
	refused(t, cfg, foundedName)
}

// TestStreamFilesLost: the whole stream directory is gone, or its description
// is. Neither may look like a new floor.
func TestStreamFilesLost(t *testing.T) {
	for _, lost := range []string{"", "meta.inf", "meta.sum"} {
		t.Run("lost "+lost, func(t *testing.T) {
			cfg := testConfig(t.TempDir())
			l := open(t, cfg)
			fill(t, l, 3)
			l.Close()
			dir := filepath.Join(cfg.Dir, "jetstream", "$G", "streams", "floor-f")
			if err := os.RemoveAll(filepath.Join(dir, lost)); err != nil {
				t.Fatal(err)
			}
			refused(t, cfg, "missing")
			if lost != "" { // nor if the note is lost with it
				if err := os.Remove(filepath.Join(cfg.Dir, foundedName)); err != nil {
					t.Fatal(err)
				}
				refused(t, cfg, "missing")
			}
		})
	}
}

// TestNoteWrittenLate: a crash between founding the stream and writing the
// note is healed by the next start.
func TestNoteWrittenLate(t *testing.T) {
	cfg := testConfig(t.TempDir())
	l := open(t, cfg)
	fill(t, l, 2)
	l.Close()
	path := filepath.Join(cfg.Dir, foundedName)
	if err := os.Remove(path); err != nil {
		t.Fatal(err)
	}
	l = open(t, cfg)
	wantFrames(t, l, 2)
	if _, err := os.Stat(path); err != nil {
		t.Fatal(err)
	}
}

func TestSettingsRefused(t *testing.T) {
	for _, c := range []struct {
		cfg  Config
		says string
	}{
		{Config{Dir: "d"}, "floor"},
		{Config{Floor: "a.b", Dir: "d"}, "floor"},
		{Config{Floor: "f"}, "directory or a URL"},
		{Config{Floor: "f", Dir: "d", URL: "nats://127.0.0.1:1"}, "directory or a URL"},
		{Config{Floor: "f", Dir: "d", NKeySeed: "x"}, "credentials"},
		{Config{Floor: "f", URL: "u", NKeySeed: "x", Credentials: "y"}, "either"},
		{Config{Floor: "f", URL: "u", NoSync: true}, "set there"},
		{Config{Floor: "f", Dir: "d", Token: "x"}, "token"},
		{Config{Floor: "f", Dir: "d", Listen: "0.0.0.0:4222"}, "loopback"},
		{Config{Floor: "f", Dir: "d", Listen: "nowhere"}, "address"},
	} {
		if _, err := Open(t.Context(), c.cfg); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%+v: %v, want %q", c.cfg, err, c.says)
		}
	}
}
