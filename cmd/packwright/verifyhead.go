package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"strconv"
	"strings"

	"packwright/events"
	"packwright/events/proof"
	"packwright/prep"
)

// notedHead is a head of the log that somebody kept: on the sheet of a day, of an
// answer, or as a signed note. The first two name the frame, a note the size.
type notedHead struct {
	Frame uint64 `json:"frame,omitempty"`
	Size  int64  `json:"size,omitempty"`
	Root  string `json:"root"` // the beginning of it will do
	note  string // signed, to be checked with the key
}

// parseHead reads FRAME:ROOT, or the file of a signed note; nothing gives nil.
func parseHead(s string) (*notedHead, error) {
	if s == "" {
		return nil, nil
	}
	frame, root, ok := strings.Cut(s, ":")
	n, err := strconv.ParseUint(frame, 10, 64)
	if ok && err == nil && n > 0 && len(root) >= 16 && len(root) <= 64 && strings.Trim(root, "0123456789abcdef") == "" {
		return &notedHead{Frame: n, Root: root}, nil
	}
	if b, err := os.ReadFile(s); err == nil {
		return &notedHead{note: string(b)}, nil
	}
	return nil, prep.Input(fmt.Sprintf("%q is no head of a log", s), "write the frame, a colon, and at least 16 signs of the root; or name the file of a signed head")
}

// open checks a note with the floor's key.
func (n *notedHead) open(key string) error {
	if n.note == "" {
		return nil
	}
	h, err := events.ParseHead(n.note, key)
	if err != nil {
		return fmt.Errorf("%w: the head that was noted: %w", events.ErrCorrupt, err)
	}
	n.Size, n.Root = h.Size, proof.Hex(h.Root)
	return nil
}

func (n *notedHead) String() string {
	if n.Frame > 0 {
		return fmt.Sprintf("frame %d", n.Frame)
	}
	return fmt.Sprintf("%d events", n.Size)
}

// find says whether the log leads on from the head: its own beginning, of that
// many frames or events, must have the root that was noted. Its frames were proven
// before.
func (n *notedHead) find(ctx context.Context, log events.Log, frames uint64) error {
	newer := fmt.Errorf("%w: the head that was noted is newer: %s; this log ends at frame %d", events.ErrCorrupt, n, frames)
	if n.Frame > frames {
		return newer
	}
	var c proof.Chain
	err := log.Scan(ctx, 1, func(seq uint64, frame []byte) error {
		if n.Frame > 0 && seq > n.Frame || n.Size > 0 && c.Tree.Size >= n.Size {
			return errFull
		}
		_, _, err := c.Take(seq, frame)
		return err
	})
	if err != nil && !errors.Is(err, errFull) {
		return err
	}
	if c.Tree.Size < n.Size {
		return newer
	}
	if got := proof.Hex(c.Tree.Root()); !strings.HasPrefix(got, n.Root) || n.Size > 0 && c.Tree.Size != n.Size {
		return fmt.Errorf("%w: after %s the root is %.16s; %.16s was noted: another past was put in its place", events.ErrCorrupt, n, got, n.Root)
	}
	return nil
}

// within says whether evidence has the head: as its own, or as one that its own
// was proven to lead on from.
func (n *notedHead) within(v *proof.Evidence) error {
	heads := []events.HeadSigned{v.Head}
	for _, h := range v.Earlier {
		heads = append(heads, h.Head)
	}
	for _, h := range heads {
		switch same := strings.HasPrefix(proof.Hex(h.Root), n.Root); {
		case n.Frame != h.Frame && n.Size != h.Size:
		case same:
			return nil
		default:
			return fmt.Errorf("%w: after %s the evidence has root %.16x; %.16s was noted: it is of another log", events.ErrCorrupt, n, h.Root[:], n.Root)
		}
	}
	return nothing(fmt.Sprintf("the evidence neither has nor proves the head of %s", n), "ask the floor for evidence that begins at that head, or for its log")
}
