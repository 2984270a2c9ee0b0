package natslog

import (
	"bytes"
	"encoding/binary"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"packwright/events"
)

// TestWrongNumber flips one bit in the sequence of one record. The server would
// note every number up to the wrong one, and die of it. The place is named, and
// the frames before it are still given.
func TestWrongNumber(t *testing.T) {
	const frames = 24 // of 750 KiB: three blocks
	whole := testConfig(t.TempDir())
	l := open(t, whole)
	for i := range frames {
		if err := l.Append(t.Context(), uint64(i), large(i+1)); err != nil {
			t.Fatal(err)
		}
	}
	l.Close()
	for _, c := range []struct {
		name  string
		block int
		frame uint64
		bit   uint
		later bool // also try it when the block is old
	}{
		{"an old block", 1, 5, 40, true},
		{"one number too high", 1, 4, 0, true},
		{"the first record of a block", 2, 12, 33, false},
		{"the newest block", 3, 24, 50, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			cfg := testConfig(filepath.Join(t.TempDir(), "store"))
			if err := os.CopyFS(cfg.Dir, os.DirFS(whole.Dir)); err != nil {
				t.Fatal(err)
			}
			misnumber(t, blockFile(cfg, c.block), c.frame, c.bit)
			refused(t, cfg, ".blk, byte ", "frame ")
			if c.later {
				later(t, whole, cfg, c.frame)
			}
		})
	}
}

// misnumber flips a bit in the sequence of one record.
func misnumber(t *testing.T, path string, frame uint64, bit uint) {
	t.Helper()
	raw, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	at := recordOf(raw, frame)
	if at < 0 {
		t.Fatalf("frame %d is not in %s", frame, path)
	}
	binary.LittleEndian.PutUint64(raw[at+4:], frame^1<<bit)
	writeFile(t, path, raw)
}

// later is a start when the block has been old for long: it is not walked before
// somebody reads it. The server here has the whole store, so that it lives; what
// is walked is the damaged one.
func later(t *testing.T, whole, damaged Config, frame uint64) {
	t.Helper()
	l := open(t, whole)
	w, err := openWalk(filepath.Dir(blockFile(damaged, 1)), time.Now().Add(time.Hour))
	if err != nil {
		t.Fatal(err)
	}
	l.walk = w
	seen := uint64(0)
	err = l.Scan(t.Context(), 1, func(s uint64, f []byte) error {
		if seen++; s != seen || !bytes.Equal(f, large(int(s))) {
			t.Errorf("frame %d after %d", s, seen-1)
		}
		return nil
	})
	if !errors.Is(err, events.ErrCorrupt) || !strings.Contains(err.Error(), "1.blk, byte ") || seen != frame-1 {
		t.Errorf("%d frames, then %v", seen, err)
	}
	if _, err := l.Read(t.Context(), frame+1); !errors.Is(err, events.ErrCorrupt) {
		t.Errorf("read behind it: %v", err)
	}
	if f, err := l.Read(t.Context(), 24); err != nil || !bytes.Equal(f, large(24)) {
		t.Errorf("a frame of another block: %v", err)
	}
}

// recordOf gives where the record of a frame begins in a block, -1 if it has none.
func recordOf(raw []byte, seq uint64) int {
	for at := 0; at < len(raw); {
		n, _, whole := recordAt(raw[at:])
		if !whole {
			return -1
		}
		if binary.LittleEndian.Uint64(raw[at+4:]) == seq {
			return at
		}
		at += n
	}
	return -1
}
