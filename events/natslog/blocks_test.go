package natslog

import (
	"errors"
	"path/filepath"
	"testing"

	"packwright/events"
)

// large is a frame that fills a block (8 MiB) with ten others.
func large(n int) []byte {
	f := make([]byte, 750<<10)
	copy(f, text(n))
	return f
}

// TestNewBlockSynced: the directory is synced once for each new block, before
// the append that opened it is answered, and at no other time.
func TestNewBlockSynced(t *testing.T) {
	l := open(t, testConfig(t.TempDir()))
	real, synced := l.blocks.sync, 0
	l.blocks.sync = func(dir string) error { synced++; return real(dir) }
	files := func() int {
		names, err := filepath.Glob(filepath.Join(l.blocks.dir, "*.blk"))
		if err != nil {
			t.Fatal(err)
		}
		return len(names)
	}
	before := files()
	for i := range 40 {
		if err := l.Append(t.Context(), uint64(i), large(i+1)); err != nil {
			t.Fatal(err)
		}
		if got := files() - before; got != synced {
			t.Fatalf("after frame %d: %d new blocks, directory synced %d times", i+1, got, synced)
		}
	}
	if synced < 3 {
		t.Fatalf("only %d blocks in 30 MB: the test proves nothing", synced)
	}
}

// TestBlockSyncFails: the frame that opened the block is not answered, nothing
// more is taken, and after opening anew the same bytes settle it.
func TestBlockSyncFails(t *testing.T) {
	cfg := testConfig(t.TempDir())
	l := open(t, cfg)
	broken := errors.New("input/output error")
	l.blocks.sync = func(string) error { return broken }
	failed := -1
	for i := range 40 {
		err := l.Append(t.Context(), uint64(i), large(i+1))
		if err == nil {
			continue
		}
		if !errors.Is(err, broken) || !errors.Is(err, events.ErrUnreachable) {
			t.Fatal(err)
		}
		failed = i
		break
	}
	if failed < 0 {
		t.Fatal("no block was opened")
	}
	l.blocks.sync = syncDir
	if err := l.Append(t.Context(), uint64(failed), large(failed+1)); !errors.Is(err, broken) {
		t.Fatalf("append after a failed sync: %v, want the first failure", err)
	}
	l.Close()
	l = open(t, cfg)
	for i := failed; i < failed+2; i++ {
		if err := l.Append(t.Context(), uint64(i), large(i+1)); err != nil {
			t.Fatal(err)
		}
	}
}

// TestBlockNumbers: numbering goes on where the directory ends, also over several new ones at once.
func TestBlockNumbers(t *testing.T) {
	dir := t.TempDir()
	touch := func(names ...string) {
		for _, n := range names {
			if err := writeFounded(dir, founded{}, syncDir); err != nil { // any file
				t.Fatal(err)
			}
			writeFile(t, filepath.Join(dir, n), nil)
		}
	}
	touch("1.blk", "2.blk", "10.blk", "index.db", "x.blk")
	b, err := openBlocks(dir, syncDir)
	if err != nil {
		t.Fatal(err)
	}
	synced := 0
	b.sync = func(string) error { synced++; return nil }
	for _, step := range []struct {
		new  []string
		want int
		next int
	}{{nil, 0, 11}, {[]string{"11.blk"}, 1, 12}, {nil, 1, 12}, {[]string{"12.blk", "13.blk"}, 2, 14}, {[]string{"15.blk"}, 2, 14}} {
		touch(step.new...)
		if err := b.settle(); err != nil || synced != step.want || b.next != step.next {
			t.Fatalf("with %v new: synced %d, next %d, %v; want %d, %d", step.new, synced, b.next, err, step.want, step.next)
		}
	}
}
