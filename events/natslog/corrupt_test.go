package natslog

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"packwright/events"
)

func writeFile(t testing.TB, path string, raw []byte) {
	t.Helper()
	if err := os.WriteFile(path, raw, 0o600); err != nil {
		t.Fatal(err)
	}
}

func blockFile(cfg Config, n int) string {
	return blockPath(filepath.Join(cfg.Dir, "jetstream", "$G", "streams", cfg.stream(), "msgs"), n)
}

// TestBitError flips one bit of one stored frame, in the middle and at the
// end, with and without the server's own index beside it. The log may refuse
// to open, or open and refuse to read; it may not give other bytes, nor skip.
func TestBitError(t *testing.T) {
	const frames = 9
	for _, place := range []int{1, 5, frames} {
		for _, index := range []bool{true, false} {
			t.Run(fmt.Sprintf("frame %d, index %v", place, index), func(t *testing.T) {
				cfg := testConfig(t.TempDir())
				l := open(t, cfg)
				fill(t, l, frames)
				l.Close()
				path := blockFile(cfg, 1)
				raw, err := os.ReadFile(path)
				if err != nil {
					t.Fatal(err)
				}
				at := bytes.Index(raw, text(place))
				if at < 0 {
					t.Fatal("frame not found in its block")
				}
				raw[at+2] ^= 0x10
				writeFile(t, path, raw)
				if !index {
					if err := os.Remove(filepath.Join(filepath.Dir(path), "index.db")); err != nil {
						t.Fatal(err)
					}
				}
				noticed(t, cfg, frames, place)
			})
		}
	}
}

// noticed opens a damaged store of so many frames and reads it in every way.
func noticed(t *testing.T, cfg Config, frames, place int) {
	t.Helper()
	l, err := Open(t.Context(), cfg)
	if err != nil {
		if !errors.Is(err, events.ErrCorrupt) {
			t.Fatalf("open: %v, want ErrCorrupt", err)
		}
		// It stays noticed, though the store has been cut: nothing is taken
		// for a shorter log.
		refused(t, cfg, cutOffName)
		if kept, err := os.ReadFile(filepath.Join(cfg.Dir, cutOffName)); err != nil || !bytes.Contains(kept, text(frames)) {
			t.Fatalf("the block as it was is not kept: %v", err)
		}
		return
	}
	t.Cleanup(func() { l.Close() })
	last, err := l.Last(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if last == uint64(frames)-1 && place == frames {
		// The last frame alone, cut off after a crash, can't be told from one
		// that was torn by it. The heads and the benches hold the truth.
		wantFrames(t, l, int(last))
		return
	}
	_, err = l.Read(t.Context(), uint64(place))
	if !errors.Is(err, events.ErrCorrupt) {
		t.Fatalf("read: %v, want ErrCorrupt", err)
	}
	reads := map[string]func(context.Context, uint64, func(uint64, []byte) error) error{"scan": l.Scan, "follow": l.Follow}
	for name, read := range reads {
		seen := 0
		err := read(t.Context(), 1, func(seq uint64, f []byte) error {
			if seen++; string(f) != string(text(seen)) {
				t.Errorf("%s gave %q at %d", name, f, seq)
			}
			return nil
		})
		if !errors.Is(err, events.ErrCorrupt) || seen != place-1 {
			t.Fatalf("%s: %d frames, then %v; want %d, then ErrCorrupt", name, seen, err, place-1)
		}
	}
}

// TestTornTail cuts the block inside its last frame.
func TestTornTail(t *testing.T) {
	const frames = 6
	for _, c := range []struct {
		name  string
		index bool
	}{{"crash", false}, {"after a clean end", true}} {
		t.Run(c.name, func(t *testing.T) {
			cfg := testConfig(t.TempDir())
			l := open(t, cfg)
			fill(t, l, frames)
			l.Close()
			path := blockFile(cfg, 1)
			raw, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			writeFile(t, path, raw[:bytes.LastIndex(raw, text(frames))+3])
			if c.index { // the index counts a frame the block has lost
				refused(t, cfg, "it holds 5 frames, the last is 6")
				return
			}
			// A power failure before the append was answered: that frame is
			// gone whole, and its place is free again.
			if err := os.Remove(filepath.Join(filepath.Dir(path), "index.db")); err != nil {
				t.Fatal(err)
			}
			l = open(t, cfg)
			wantFrames(t, l, frames-1)
			fillFrom(t, l, frames-1, frames+2)
			wantFrames(t, l, frames+2)
		})
	}
}
