package engine

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	json "github.com/goccy/go-json"

	"packwright/events"
	"packwright/events/proof"
	"packwright/workflow"
)

// snapshotFile is the one snapshot kept; a new one replaces it whole.
const snapshotFile = "floor.snapshot"

// snapshotHead is the first line of a snapshot; the floor follows as JSON.
type snapshotHead struct {
	Format int        `json:"format"`
	Floor  string     `json:"floor"`
	Frame  uint64     `json:"frame"` // last frame folded in
	Sum    string     `json:"sum"`   // SHA-256 of that frame's bytes
	Tree   proof.Tree `json:"tree"`
	Body   string     `json:"body"` // SHA-256 of the JSON that follows
	Head   string     `json:"head"` // SHA-256 of this line while it was empty
}

// sealed gives the head with its own sum.
func (h snapshotHead) sealed() snapshotHead {
	h.Head = ""
	b, _ := json.Marshal(h) // strings, numbers and hashes always encode
	h.Head = sum(b)
	return h
}

// readSnapshot takes a snapshot's file apart. ok: it is whole, and of this format.
func readSnapshot(b []byte) (h snapshotHead, body []byte, ok bool) {
	head, body, _ := bytes.Cut(b, []byte{'\n'})
	if json.Unmarshal(head, &h) != nil {
		return h, nil, false
	}
	return h, body, h.Format == snapshotFormat && h.Head == h.sealed().Head && h.Body == sum(body) && h.Tree.Valid()
}

// Snapshot tells which head of the log the snapshot in a directory was made at.
// Errors: fs.ErrNotExist when there is none; any other means that it says
// nothing and a start reads the whole log.
func Snapshot(dir string) (Head, error) {
	b, err := os.ReadFile(filepath.Join(dir, snapshotFile))
	if err != nil {
		return Head{}, err
	}
	h, _, ok := readSnapshot(b)
	if !ok {
		return Head{}, errors.New("the snapshot is not believable")
	}
	return Head{Frame: h.Frame, Size: h.Tree.Size, Root: proof.Hex(h.Tree.Root())}, nil
}

// snapshotFormat grows when Floor's JSON changes; others are ignored and rebuilt.
const snapshotFormat = 4

// Digest gives the SHA-256 of a floor's whole state; equal floors have equal digests.
func Digest(f *workflow.Floor) (string, error) {
	b, err := json.Marshal(f)
	if err != nil {
		return "", err
	}
	return sum(b), nil
}

func sum(b []byte) string {
	h := sha256.Sum256(b)
	return hex.EncodeToString(h[:])
}

// snapshotDue asks the loop to settle before it takes more.
func (e *Engine) snapshotDue() bool {
	return e.cfg.Snapshot != "" && e.chain.Tree.Size-e.snapped >= e.cfg.Every && (e.build != nil || e.flight != nil)
}

func (e *Engine) snapshotIfDue() {
	if e.chain.Tree.Size-e.snapped >= e.cfg.Every && e.build == nil && e.flight == nil {
		e.snapshot()
	}
}

// snapshot writes the floor, all of it durable in the log. A failure costs only
// a slower start, so it is logged and forgotten.
func (e *Engine) snapshot() {
	if e.cfg.Snapshot == "" || e.chain.Tree.Size == e.snapped {
		return
	}
	if err := e.writeSnapshot(); err != nil {
		e.cfg.Logger.Warn().Err(err).Msg("snapshot not written; the next start reads the whole log")
	}
	e.snapped = e.chain.Tree.Size
}

func (e *Engine) writeSnapshot() error {
	frame, err := e.cfg.Log.Read(context.Background(), e.chain.Next-1)
	if err != nil {
		return err
	}
	body, err := json.Marshal(e.floor)
	if err != nil {
		return err
	}
	head, err := json.Marshal(snapshotHead{Format: snapshotFormat, Floor: e.cfg.Floor, Frame: e.chain.Next - 1, Sum: sum(frame), Tree: e.chain.Tree, Body: sum(body)}.sealed())
	if err != nil {
		return err
	}
	return WriteWhole(filepath.Join(e.cfg.Snapshot, snapshotFile), func(w io.Writer) error {
		if _, err := w.Write(append(head, '\n')); err != nil {
			return err
		}
		_, err := w.Write(body)
		return err
	})
}

// fromSnapshot gives the snapshot's floor, or nil when there is none to use. A
// log shorter than the snapshot, or with another frame at its place, has lost or
// changed what it had acknowledged: events.ErrCorrupt.
func (e *Engine) fromSnapshot(ctx context.Context, last uint64) (*workflow.Floor, proof.Chain, error) {
	none := proof.Chain{}
	if e.cfg.Snapshot == "" {
		return nil, none, nil
	}
	b, err := os.ReadFile(filepath.Join(e.cfg.Snapshot, snapshotFile))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, none, nil
	}
	if err != nil {
		return nil, none, fmt.Errorf("read the snapshot: %w", err)
	}
	h, body, ok := readSnapshot(b)
	if !ok || h.Floor != e.cfg.Floor {
		e.cfg.Logger.Warn().Msg("the snapshot is not believable; the whole log is read instead")
		return nil, none, nil
	}
	if h.Frame > last {
		return nil, none, fmt.Errorf("%w: the snapshot knows %d frames, the log has %d: an older log was put back", events.ErrCorrupt, h.Frame, last)
	}
	frame, err := e.cfg.Log.Read(ctx, h.Frame)
	if err != nil {
		return nil, none, err
	}
	if sum(frame) != h.Sum {
		return nil, none, fmt.Errorf("%w: frame %d is not the one the snapshot was made from", events.ErrCorrupt, h.Frame)
	}
	floor, err := workflow.ReadFloor(body, e.cfg.Policy)
	if err != nil {
		e.cfg.Logger.Warn().Err(err).Msg("the snapshot cannot be read; the whole log is read instead")
		return nil, none, nil
	}
	return floor, proof.Chain{Tree: h.Tree, Floor: e.cfg.Floor, Next: h.Frame + 1}, nil
}
