package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"packwright/audit/follow"
	"packwright/events"
	"packwright/workflow/engine"
)

// keptHead is a head of the log that stands in a file beside it: how far the log
// had come when the floor's snapshot, or the auditor's checkpoint, was written.
// The log must still lead to it; a shorter one, or another past, does not.
type keptHead struct {
	What  string `json:"what"`
	Frame uint64 `json:"frame,omitempty"`
	Root  string `json:"root,omitempty"`
	Lost  string `json:"lost,omitempty"` // why the file says nothing; it will be made anew
}

// keptHeads reads what stands in a floor's snapshot directory.
func keptHeads(dir string) (out []keptHead) {
	snap, err := engine.Snapshot(dir)
	out = kept(out, "the snapshot", snap.Frame, snap.Root, err)
	f, err := os.Open(filepath.Join(dir, filepath.Base(place("").books())))
	if err == nil {
		defer f.Close()
		var c follow.Checkpoint
		c, err = follow.Noted(f)
		return kept(out, "the auditor's checkpoint", c.Seq, c.Root, err)
	}
	return kept(out, "the auditor's checkpoint", 0, "", err)
}

func kept(list []keptHead, what string, frame uint64, root string, err error) []keptHead {
	k := keptHead{What: what, Frame: frame, Root: root}
	switch {
	case errors.Is(err, fs.ErrNotExist), err == nil && frame == 0:
		return list
	case err != nil:
		k = keptHead{What: what, Lost: err.Error()}
	}
	return append(list, k)
}

// lead says whether the log, of which so many frames with this root at their end
// are proven, leads to the heads that were kept. The log is read once more only
// when one of them stands before its end.
func lead(ctx context.Context, log events.Log, heads []keptHead, frames uint64, root string) error {
	for _, k := range heads {
		if k.Lost != "" {
			continue
		}
		var err error
		switch {
		case k.Frame > frames:
			err = fmt.Errorf("%w: %s was made at frame %d; this log ends at frame %d: an older log was put back, or its end is lost", events.ErrCorrupt, k.What, k.Frame, frames)
		case k.Frame == frames && k.Root == root:
		default:
			if err = (&notedHead{Frame: k.Frame, Root: k.Root}).find(ctx, log, frames); err != nil {
				err = fmt.Errorf("%s: %w", k.What, err)
			}
		}
		if err != nil {
			return err
		}
	}
	return nil
}

func (k keptHead) text(b *strings.Builder) {
	if k.Lost != "" {
		fmt.Fprintf(b, "%s says nothing (%s); the next start reads the whole log and makes it anew\n", k.What, k.Lost)
		return
	}
	fmt.Fprintf(b, "%s, made at frame %d, is of this log\n", k.What, k.Frame)
}
