package follow

import (
	"context"
	"errors"

	"packwright/audit"
	"packwright/events"
	"packwright/events/proof"
)

// errCut ends a reading at a chosen place.
var errCut = errors.New("cut here")

func isCut(err error) bool { return errors.Is(err, errCut) }

// Until reads the log from event 1 as far as it was recorded by a moment: what
// the floor knew then. Facts told later of an earlier time are not in it. The
// frame in which it stops may be read in part, and its cells are then not
// compared.
func Until(ctx context.Context, log events.Log, moment events.Time) (*audit.Fold, error) {
	r := New()
	err := proof.Ahead(ctx, log, 1, func(page proof.Page) error {
		_, err := r.take(page, func(e *events.Event) bool { return !e.Recorded.After(moment) })
		return err
	})
	if err != nil && !isCut(err) {
		return nil, err
	}
	return r.fold, nil
}

// Verify reads the whole log from raw frames: hashes, cells, laws. An error is a
// frame that cannot be believed; what comes after it is unproven, and where its
// header speaks of another past than was read, so is the frame before it. Events,
// frames and root of the verdict are of what is proven. Without an error the
// verdict tells which laws were broken, if any.
func Verify(ctx context.Context, log events.Log, progress func(frame uint64)) (audit.Verdict, error) {
	r := New()
	r.WatchLaws()
	var newest, wrong proof.Page
	err := proof.Ahead(ctx, log, 1, func(page proof.Page) error {
		_, err := r.turn(page)
		if err == nil {
			newest = page
		} else {
			wrong = page
		}
		if progress != nil {
			progress(page.Seq)
		}
		return err
	})
	c := r.checkpoint()
	if errors.Is(err, proof.ErrBefore) {
		wrong = newest
	}
	if wrong.Seq > 0 { // its header is of what was read before it, and that is proven
		c.Seq, c.Size, c.Root = wrong.Seq-1, wrong.Header.Size, proof.Hex(wrong.Header.Root)
	}
	v := audit.Verdict{Events: c.Size, Frames: c.Seq, Root: c.Root, Cells: c.Cells.String(), Laws: len(audit.LawBook()), Breaches: r.wrong,
		Lots: r.fold.Balances(), Benches: r.fold.Irregular().Gaps, Floor: r.fold.Floor().Floor, Last: r.fold.Now(),
		Key: r.fold.Floor().Key, Heads: len(r.fold.Heads())}
	if v.Heads > 0 {
		v.Signed = &r.fold.Heads()[v.Heads-1]
	}
	return v, err
}
