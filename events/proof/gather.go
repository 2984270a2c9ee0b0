package proof

import (
	"fmt"

	"golang.org/x/mod/sumdb/tlog"

	"packwright/events"
)

// Gather collects, while a log is read once from its beginning, just the inner
// hashes of the tree that some proofs want: a few for each, however long the log
// is. Proofs are those of RFC 6962, sections 2.1.1 (a line is in the tree) and
// 2.1.2 (an older tree is the beginning of this one).
type Gather struct {
	size  int64
	tree  Tree                // of what was added so far
	found map[int64]tlog.Hash // by storage index
	want  map[int64]bool
}

// NewGather prepares proofs in the tree of the first size lines: that each of the
// leaves (from 0) is in it, and that each of the older sizes was its beginning.
func NewGather(size int64, leaves, older []int64) (*Gather, error) {
	g := &Gather{size: size, found: map[int64]tlog.Hash{}, want: map[int64]bool{}}
	note := tlog.HashReaderFunc(func(at []int64) ([]tlog.Hash, error) {
		for _, i := range at {
			g.want[i] = true
		}
		return make([]tlog.Hash, len(at)), nil
	})
	for _, n := range leaves {
		if n < 0 || n >= size {
			return nil, fmt.Errorf("line %d is not among the first %d", n, size)
		}
		if _, err := tlog.ProveRecord(size, n, note); err != nil {
			return nil, err
		}
	}
	for _, n := range older {
		if n < 1 || n > size {
			return nil, fmt.Errorf("a tree of %d lines is no beginning of one of %d", n, size)
		}
		if _, err := tlog.ProveTree(size, n, note); err != nil {
			return nil, err
		}
	}
	return g, nil
}

// Full says that all lines of the tree were added; more are passed over.
func (g *Gather) Full() bool { return g.tree.Size >= g.size }

// Add takes the next line of the log.
func (g *Gather) Add(line []byte) {
	if g.Full() {
		return
	}
	h, t := tlog.RecordHash(line), &g.tree
	g.keep(0, t.Size, h)
	for level, n := 1, t.Size; n&1 == 1; level, n = level+1, n>>1 {
		last := len(t.Peaks) - 1
		h = tlog.NodeHash(t.Peaks[last], h)
		t.Peaks = t.Peaks[:last]
		g.keep(level, n>>1, h)
	}
	t.Peaks = append(t.Peaks, h)
	t.Size++
}

func (g *Gather) keep(level int, n int64, h tlog.Hash) {
	if i := tlog.StoredHashIndex(level, n); g.want[i] {
		g.found[i] = h
	}
}

// Root gives the root over what was added.
func (g *Gather) Root() tlog.Hash { return g.tree.Root() }

// ReadHashes gives gathered hashes to package tlog.
func (g *Gather) ReadHashes(at []int64) ([]tlog.Hash, error) {
	out := make([]tlog.Hash, len(at))
	for k, i := range at {
		h, ok := g.found[i]
		if !ok {
			return nil, fmt.Errorf("%w: the tree's hash %d was not gathered", events.ErrNotFound, i)
		}
		out[k] = h
	}
	return out, nil
}

// Line proves that line n (from 0) is in the tree. All lines must have been added.
func (g *Gather) Line(n int64) (tlog.RecordProof, error) { return tlog.ProveRecord(g.size, n, g) }

// Beginning proves that the tree of the first n lines was the beginning of this one.
func (g *Gather) Beginning(n int64) (tlog.TreeProof, error) { return tlog.ProveTree(g.size, n, g) }
