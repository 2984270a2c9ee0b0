package follow

import (
	"bufio"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"packwright/audit"
	"packwright/events"
	"packwright/events/proof"
)

// saved is the first line of a checkpoint file: where the reading stood.
type saved struct {
	Floor string     `json:"floor"`
	Next  uint64     `json:"next"`
	Tree  proof.Tree `json:"tree"`
	Root  string     `json:"root"`
	Sum   string     `json:"sum"` // SHA-256 of this line while it was empty
}

// sealed gives the line with its own sum.
func (s saved) sealed() (saved, error) {
	s.Sum = ""
	b, err := json.Marshal(s)
	sum := sha256.Sum256(b)
	s.Sum = hex.EncodeToString(sum[:])
	return s, err
}

// readSaved reads and checks the first line of a checkpoint.
func readSaved(in *bufio.Reader) (s saved, err error) {
	line, err := in.ReadBytes('\n')
	if err != nil {
		return s, err
	}
	if err := json.Unmarshal(line, &s); err != nil {
		return s, err
	}
	if should, err := s.sealed(); err != nil || should.Sum != s.Sum {
		return s, errors.Join(errors.New("its first line does not give its sum"), err)
	}
	if !s.Tree.Valid() || proof.Hex(s.Tree.Root()) != s.Root {
		return s, errors.New("its tree does not give its root")
	}
	return s, nil
}

// Noted reads of a checkpoint only how far it had read: frames, events, root. It
// does not look at the fold that follows. Any error means that the checkpoint
// says nothing.
func Noted(rd io.Reader) (Checkpoint, error) {
	s, err := readSaved(bufio.NewReader(rd))
	if err != nil {
		return Checkpoint{}, fmt.Errorf("read a checkpoint: %w", err)
	}
	return Checkpoint{Seq: max(s.Next, 1) - 1, Size: s.Tree.Size, Root: s.Root}, nil
}

// Save writes a checkpoint: a line that says how far was read, and the fold.
// Frames wait meanwhile. The caller sees to it that a half-written file is never
// taken for a whole one.
func (r *Follower) Save(w io.Writer) error {
	r.mu.RLock()
	defer r.mu.RUnlock()
	if r.err != nil {
		return fmt.Errorf("save a checkpoint: %w", r.err)
	}
	head, err := saved{Floor: r.chain.Floor, Next: r.chain.Next, Tree: r.chain.Tree, Root: proof.Hex(r.chain.Tree.Root())}.sealed()
	if err != nil {
		return fmt.Errorf("save a checkpoint: %w", err)
	}
	line, err := json.Marshal(head)
	if err != nil {
		return fmt.Errorf("save a checkpoint: %w", err)
	}
	if _, err := w.Write(append(line, '\n')); err != nil {
		return fmt.Errorf("save a checkpoint: %w", err)
	}
	return r.fold.Save(w)
}

// Restore reads what Save wrote. Any error means: drop it and read the log from
// event 1. The log itself then tells whether the checkpoint was of its own past:
// the next frame's header must agree with the checkpoint's tree.
func Restore(rd io.Reader) (*Follower, error) {
	in := bufio.NewReader(rd)
	s, err := readSaved(in)
	if err != nil {
		return nil, fmt.Errorf("restore a checkpoint: %w", err)
	}
	f, err := audit.Load(in)
	if err != nil {
		return nil, fmt.Errorf("restore a checkpoint: %w", err)
	}
	if f.Events() != s.Tree.Size || f.Last().Frame+1 != max(s.Next, 1) {
		return nil, fmt.Errorf("restore a checkpoint: %d events up to frame %d are folded, its tree holds %d before frame %d",
			f.Events(), f.Last().Frame, s.Tree.Size, s.Next)
	}
	return &Follower{fold: f, chain: proof.Chain{Tree: s.Tree, Floor: s.Floor, Next: s.Next}}, nil
}

// Behind says that a log is shorter than a checkpoint of it: frames that were
// read once are gone. Nil when it is not.
func Behind(ctx context.Context, log events.Log, c Checkpoint) error {
	last, err := log.Last(ctx)
	if err != nil {
		return err
	}
	if last < c.Seq {
		return fmt.Errorf("%w: it ends at frame %d; frame %d was read before", events.ErrCorrupt, last, c.Seq)
	}
	return nil
}

// Rebuilt reads the log from event 1 up to where c stands and says whether it
// comes to the same size, root and cells. Errors: those of reading, and
// ErrCorrupt when it does not.
func Rebuilt(ctx context.Context, log events.Log, c Checkpoint) error {
	r := New()
	err := log.Scan(ctx, 1, func(seq uint64, frame []byte) error {
		if seq > c.Seq {
			return errCut
		}
		_, err := r.Take(seq, frame)
		return err
	})
	if err != nil && !isCut(err) {
		return err
	}
	if got := r.Checkpoint(); got != c {
		return fmt.Errorf("%w: read from event 1 it comes to %+v, the checkpoint says %+v", events.ErrCorrupt, got, c)
	}
	return nil
}
