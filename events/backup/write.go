package backup

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"hash/crc32"
	"io"

	"packwright/events"
	"packwright/events/proof"
)

// errEnough ends a reading at the last frame that is wanted.
var errEnough = errors.New("that is all")

// Write writes the frames of a log up to the one that is last now, while others
// may follow. Each is believed only when it agrees with the tree before it. From
// and To of the header are set here; each, when given, is told of every frame.
// Errors: the log's (events.ErrCorrupt names the frame), ctx's, and w's. What was
// written before an error is no backup, and Read says so.
func Write(ctx context.Context, w io.Writer, log events.Log, h Header, each func(seq uint64)) (Header, Sums, error) {
	last, err := log.Last(ctx)
	if err != nil {
		return h, Sums{}, err
	}
	if last == 0 {
		return h, Sums{}, fmt.Errorf("back up the log of %s: %w", h.Floor, events.ErrNotFound)
	}
	h.From, h.To = 1, last
	sum := sha256.New()
	out := &writer{w: io.MultiWriter(w, sum), chain: proof.Chain{Floor: h.Floor}}
	if err := out.first(h); err != nil {
		return h, Sums{}, err
	}
	err = log.Scan(ctx, 1, func(seq uint64, frame []byte) error {
		if seq > last {
			return errEnough
		}
		if err := errors.Join(ctx.Err(), out.frame(seq, frame)); err != nil {
			return err
		}
		if each != nil {
			each(seq)
		}
		return nil
	})
	if err != nil && !errors.Is(err, errEnough) {
		return h, Sums{}, err
	}
	if out.sums.Frames != last {
		return h, Sums{}, fmt.Errorf("%w: it has %d frames and gave %d", events.ErrCorrupt, last, out.sums.Frames)
	}
	s := out.sums
	s.Events, s.Root = out.chain.Tree.Size, proof.Hex(out.chain.Tree.Root())
	s.SHA256 = hex.EncodeToString(sum.Sum(nil))
	return h, s, out.end(s)
}

// writer writes lines and frames, and proves the frames meanwhile.
type writer struct {
	w     io.Writer
	chain proof.Chain
	sums  Sums
}

func (w *writer) first(h Header) error {
	b, err := json.Marshal(h)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(w.w, "%s%s %08x %s\n", first, version, crc32.Checksum(b, castagnoli), b)
	return err
}

func (w *writer) end(s Sums) error {
	b, err := json.Marshal(s)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(w.w, "end %s\n", b)
	return err
}

func (w *writer) frame(seq uint64, frame []byte) error {
	h, _, err := w.chain.Take(seq, frame)
	if err != nil {
		return err
	}
	w.sums.Frames, w.sums.Cells = seq, h.Cells
	if _, err := fmt.Fprintf(w.w, "frame %d %d %08x\n", seq, len(frame), crc32.Checksum(frame, castagnoli)); err != nil {
		return err
	}
	_, err = w.w.Write(frame)
	return err
}
