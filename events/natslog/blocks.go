package natslog

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
)

// blocks watches the store's block files. The server syncs what it writes into
// a block, but not the directory entry of a new one: after a power failure the
// whole file could be missing. Blocks are numbered upwards without a gap, so
// one look for the next name tells whether a new one has appeared.
type blocks struct {
	dir  string
	next int    // the first number not seen yet
	path string // its file
	sync func(dir string) error
}

// openBlocks makes what is in the directory durable. That matters after a
// crash: the last frame may have been written and never synced, and from here
// on it is believed, answered from and built upon.
func openBlocks(dir string, sync func(dir string) error) (*blocks, error) {
	b := &blocks{dir: dir, sync: sync}
	last, err := lastBlock(dir)
	if err != nil {
		return nil, fmt.Errorf("the store has no block directory where it is looked for: %w", err)
	}
	for _, n := range []int{last - 1, last} {
		if err := syncFile(b.file(n)); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return nil, fmt.Errorf("sync the last blocks: %w", err)
		}
	}
	if err := b.sync(dir); err != nil {
		return nil, fmt.Errorf("sync the block directory: %w", err)
	}
	b.expect(last + 1)
	return b, nil
}

func (b *blocks) file(n int) string { return blockPath(b.dir, n) }

func blockPath(dir string, n int) string { return filepath.Join(dir, strconv.Itoa(n)+".blk") }

func (b *blocks) expect(n int) { b.next, b.path = n, b.file(n) }

// settle syncs the directory if a block has appeared since the last call.
// Without one it costs one failing lstat.
func (b *blocks) settle() error {
	n := b.next
	for path := b.path; ; path = b.file(n) {
		_, err := os.Lstat(path)
		if errors.Is(err, fs.ErrNotExist) {
			break
		}
		if err != nil {
			return err
		}
		n++
	}
	if n == b.next {
		return nil
	}
	if err := b.sync(b.dir); err != nil {
		return err
	}
	b.expect(n)
	return nil
}

// lastBlock gives the highest number of a block file in dir, 0 for none.
func lastBlock(dir string) (int, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return 0, err
	}
	last := 0
	for _, e := range entries {
		name, isBlock := strings.CutSuffix(e.Name(), ".blk")
		if n, err := strconv.Atoi(name); isBlock && err == nil {
			last = max(last, n)
		}
	}
	return last, nil
}

func syncFile(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

// syncChain syncs leaf and every directory above it up to root's parent, which
// holds root's own entry.
func syncChain(root, leaf string, sync func(dir string) error) error {
	for dir, top := leaf, filepath.Dir(root); ; dir = filepath.Dir(dir) {
		if err := sync(dir); err != nil {
			return err
		}
		if dir == top || dir == filepath.Dir(dir) {
			return nil
		}
	}
}
