package follow

import (
	"bufio"
	"context"
	"encoding/json"
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
	line, err := json.Marshal(saved{r.chain.Floor, r.chain.Next, r.chain.Tree, proof.Hex(r.chain.Tree.Root())})
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
	line, err := in.ReadBytes('\n')
	if err != nil {
		return nil, fmt.Errorf("restore a checkpoint: %w", err)
	}
	var s saved
	if err := json.Unmarshal(line, &s); err != nil {
		return nil, fmt.Errorf("restore a checkpoint: %w", err)
	}
	if !s.Tree.Valid() || proof.Hex(s.Tree.Root()) != s.Root {
		return nil, fmt.Errorf("restore a checkpoint: its tree does not give its root")
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
