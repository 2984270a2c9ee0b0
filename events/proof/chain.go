// Package proof makes the log prove itself: a Merkle tree over the raw lines of
// all events, with the hashing of RFC 6962 section 2.1 (leaf 0x00‖line, node
// 0x01‖left‖right, SHA-256), and the check of each frame's header against it.
//
// [Tree] keeps only the roots of the perfect subtrees along the right edge, so
// a writer or reader carries some 40 hashes however long the log. TestRFC6962
// compares its roots with published ones.
package proof

import (
	"encoding/hex"
	"errors"
	"fmt"
	"math/bits"

	"golang.org/x/mod/sumdb/tlog"

	"packwright/events"
)

// Tree is the growing Merkle tree, reduced to what further growth needs.
// The zero Tree is empty.
type Tree struct {
	Size  int64       `json:"size"`
	Peaks []tlog.Hash `json:"peaks"` // roots of perfect subtrees, largest first
}

// Add appends one leaf: the bytes of an event's line without its newline.
func (t *Tree) Add(line []byte) { t.AddLeaf(tlog.RecordHash(line)) }

// AddLeaf appends a leaf whose hash is known.
func (t *Tree) AddLeaf(h tlog.Hash) {
	for n := t.Size; n&1 == 1; n >>= 1 {
		last := len(t.Peaks) - 1
		h = tlog.NodeHash(t.Peaks[last], h)
		t.Peaks = t.Peaks[:last]
	}
	t.Peaks = append(t.Peaks, h)
	t.Size++
}

// Root gives the tree's hash; for the empty tree SHA-256 of nothing, as RFC 6962 has it.
func (t *Tree) Root() tlog.Hash {
	if t.Size == 0 {
		return emptyRoot
	}
	h := t.Peaks[len(t.Peaks)-1]
	for i := len(t.Peaks) - 2; i >= 0; i-- {
		h = tlog.NodeHash(t.Peaks[i], h)
	}
	return h
}

// Clone gives an independent copy.
func (t *Tree) Clone() Tree {
	return Tree{t.Size, append([]tlog.Hash(nil), t.Peaks...)}
}

// Valid says whether size and peaks fit together.
func (t *Tree) Valid() bool { return bits.OnesCount64(uint64(t.Size)) == len(t.Peaks) }

// emptyRoot is SHA-256 of the empty string.
var emptyRoot = tlog.Hash{0xe3, 0xb0, 0xc4, 0x42, 0x98, 0xfc, 0x1c, 0x14, 0x9a, 0xfb, 0xf4, 0xc8, 0x99, 0x6f, 0xb9, 0x24,
	0x27, 0xae, 0x41, 0xe4, 0x64, 0x9b, 0x93, 0x4c, 0xa4, 0x95, 0x99, 0x1b, 0x78, 0x52, 0xb8, 0x55}

// Hex writes a root as frame headers do.
func Hex(h tlog.Hash) string { return hex.EncodeToString(h[:]) }

// ErrBefore is in an error of [Chain] when a frame's header speaks of another past
// than was read: the events of the frame before it were changed, or it was not
// the frame before it, or the header itself is wrong. What is proven ends
// before the frame before it. It has no words of its own.
var ErrBefore = errors.New("")

// Chain reads frames in order and believes each only when its header agrees
// with the tree over all lines before it.
type Chain struct {
	Tree  Tree
	Floor string // set by the first frame when empty
	Next  uint64 // sequence of the frame to come
}

// Take checks frame seq and adds its lines to the tree. Errors wrap
// events.ErrCorrupt and name the frame; the chain is not to be used after one.
func (c *Chain) Take(seq uint64, frame []byte) (events.Header, [][]byte, error) {
	h, lines, err := events.SplitFrame(frame)
	if err != nil {
		return h, nil, fmt.Errorf("frame %d: %w", seq, err)
	}
	if err := c.follows(seq, h); err != nil {
		return h, nil, err
	}
	for _, l := range lines {
		c.Tree.Add(l)
	}
	c.Next++
	return h, lines, nil
}

// follows says whether a frame of this header is the next of this chain.
func (c *Chain) follows(seq uint64, h events.Header) error {
	if c.Next == 0 {
		c.Next = 1
	}
	if c.Floor == "" {
		c.Floor = h.Floor
	}
	switch root := c.Tree.Root(); {
	case seq != c.Next:
		return fmt.Errorf("%w: frame %d follows frame %d", events.ErrCorrupt, seq, c.Next-1)
	case h.Floor != c.Floor:
		return fmt.Errorf("%w: frame %d is of floor %q, this log is %q's", events.ErrCorrupt, seq, h.Floor, c.Floor)
	case h.Size != c.Tree.Size || h.Root != root:
		return fmt.Errorf("%w: frame %d says %d events with root %.16s stand before it; read were %d with root %.16s%w",
			events.ErrCorrupt, seq, h.Size, Hex(h.Root), c.Tree.Size, Hex(root), ErrBefore)
	}
	return nil
}
