// Package follow reads a floor's log into the auditor's fold and believes each
// frame only when three things agree: the header's tree size and root with all
// lines before it, the floor's name, and the header's digest of cells with the
// fold's own after the frame's events. The first frame where they do not is named
// in an error that wraps events.ErrCorrupt; from there on nothing is believed.
//
// A [Follower] is one reader for a process: it catches up, follows, and lets
// pages look at the fold in between. [Follower.Save] and [Restore] take a
// checkpoint of it, so that a start reads the tail and not the whole log;
// [Rebuilt] tells whether that start equals a reading from event 1. [Until] reads
// as much of a log as was recorded up to a moment, and [Verify] all of it with the
// laws looking on.
package follow

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"sync/atomic"

	"packwright/audit"
	"packwright/events"
	"packwright/events/proof"
)

// Checkpoint is how far a follower has read.
type Checkpoint struct {
	Seq   uint64        `json:"seq"`   // frames read
	Size  int64         `json:"size"`  // events read
	Root  string        `json:"root"`  // of the tree over them
	Cells events.Digest `json:"cells"` // of the fold after them
}

// Frame is a frame that was read and believed.
type Frame struct {
	Seq    uint64
	Header events.Header
	Events []events.Event
}

// Follower reads one log. Its methods may be called by many goroutines.
type Follower struct {
	mu    sync.RWMutex
	fold  *audit.Fold
	chain proof.Chain
	laws  *audit.Laws
	wrong []audit.Breach
	err   error // the first frame that was not believed
	doubt atomic.Pointer[error]
}

// fail keeps the first reason for doubt; r.mu is held.
func (r *Follower) fail(err error) {
	if err != nil && r.err == nil {
		r.err = err
		r.doubt.Store(&err)
	}
}

// New gives a follower of a log that has not been read yet.
func New() *Follower { return &Follower{fold: audit.New()} }

// With gives a follower that reads into this fold, which must be empty.
func With(f *audit.Fold) *Follower { return &Follower{fold: f} }

// WatchLaws lets the laws look on from here. It is for a reading from event 1:
// the laws know nothing of what was read before.
func (r *Follower) WatchLaws() {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.laws = audit.NewLaws()
}

// Take reads one frame: the next of the log, or one that was read before, which
// changes nothing. Errors wrap events.ErrCorrupt and name the frame; after one,
// Take gives it again and reads no more.
func (r *Follower) Take(seq uint64, frame []byte) (Frame, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.err != nil {
		return Frame{}, r.err
	}
	if seq < r.chain.Next {
		return Frame{Seq: seq}, nil
	}
	page, err := proof.Open(seq, frame)
	if err != nil {
		r.fail(err)
		return Frame{}, err
	}
	return r.turn(page)
}

// turn reads a page, once and for all. r.mu is held.
func (r *Follower) turn(page proof.Page) (out Frame, err error) {
	out, err = r.take(page, nil)
	r.fail(err)
	return out, err
}

// take reads a page; with cut, only the events that cut lets pass, and then the
// cells are not compared unless all passed.
func (r *Follower) take(page proof.Page, cut func(*events.Event) bool) (Frame, error) {
	if err := r.chain.Turn(page); err != nil {
		return Frame{}, err
	}
	seq, h, list := page.Seq, page.Header, page.Events
	if r.laws != nil {
		r.laws.Stood(seq-1, h.Size, h.Root)
	}
	for i := range list {
		if cut != nil && !cut(&list[i]) {
			return Frame{seq, h, list[:i]}, errCut
		}
		if err := r.fold.Apply(&list[i]); err != nil {
			return Frame{}, fmt.Errorf("frame %d: %w", seq, err)
		}
		if r.laws != nil {
			r.wrong = append(r.wrong, r.laws.See(&list[i], r.fold)...)
		}
	}
	if own := r.fold.Digest(); own != h.Cells {
		return Frame{}, fmt.Errorf("%w: frame %d: the decider's cells are %s, the auditor's are %s", events.ErrCorrupt, seq, h.Cells, own)
	}
	return Frame{seq, h, list}, nil
}

// CatchUp reads from where the follower stands to the log's present end.
func (r *Follower) CatchUp(ctx context.Context, log events.Log) error {
	err := proof.Ahead(ctx, log, r.next(), func(page proof.Page) error {
		r.mu.Lock()
		defer r.mu.Unlock()
		if r.err != nil || page.Seq < r.chain.Next {
			return r.err
		}
		_, err := r.turn(page)
		return err
	})
	if errors.Is(err, events.ErrCorrupt) { // a frame that could not even be opened
		r.mu.Lock()
		defer r.mu.Unlock()
		r.fail(err)
	}
	return err
}

// Follow reads from where the follower stands and goes on with new frames until
// ctx is done, then gives nil. After each frame it calls each, which may be nil
// and must not keep the frame's events waiting long.
func (r *Follower) Follow(ctx context.Context, log events.Log, each func(Frame)) error {
	return log.Follow(ctx, r.next(), func(seq uint64, frame []byte) error {
		f, err := r.Take(seq, frame)
		if err == nil && each != nil {
			each(f)
		}
		return err
	})
}

func (r *Follower) next() uint64 {
	r.mu.RLock()
	defer r.mu.RUnlock()
	return max(r.chain.Next, 1)
}

// View lets fn look at the fold. No frame is read meanwhile; fn must not keep
// the fold, nor change it, nor call View or Checkpoint: a frame that waits to be
// read would let it wait for ever.
func (r *Follower) View(fn func(*audit.Fold)) {
	r.mu.RLock()
	defer r.mu.RUnlock()
	fn(r.fold)
}

// Checkpoint tells how far the follower has read.
func (r *Follower) Checkpoint() Checkpoint {
	r.mu.RLock()
	defer r.mu.RUnlock()
	return r.checkpoint()
}

func (r *Follower) checkpoint() Checkpoint {
	return Checkpoint{max(r.chain.Next, 1) - 1, r.chain.Tree.Size, proof.Hex(r.chain.Tree.Root()), r.fold.Digest()}
}

// Err gives the error of the first frame that was not believed, or nil. It waits
// for nobody, so that it may be asked in View too.
func (r *Follower) Err() error {
	if err := r.doubt.Load(); err != nil {
		return *err
	}
	return nil
}

// Breaches gives the laws broken since WatchLaws.
func (r *Follower) Breaches() []audit.Breach {
	r.mu.RLock()
	defer r.mu.RUnlock()
	return append([]audit.Breach(nil), r.wrong...)
}
