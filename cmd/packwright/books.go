package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"sync"
	"time"

	"github.com/rs/zerolog"

	"packwright/audit/follow"
	"packwright/events"
	"packwright/workflow/engine"
)

// books is the auditor's own reading of a hub's log. It follows the writer frame
// by frame and compares its cells with those that the frame's header states.
type books struct {
	*follow.Follower
	file string // of its checkpoint
	log  zerolog.Logger

	mu    sync.Mutex
	moved chan struct{} // closed, and made anew, with each frame
	saved int64         // events at the last checkpoint
}

// Between two checkpoints, and between two tries to reach a log that is away.
const (
	checkpointEvents = 200_000
	followPause      = time.Second
)

// openBooks restores the newest checkpoint of this log, or begins at event 1. A
// checkpoint that knows more than the log is events.ErrCorrupt.
func openBooks(ctx context.Context, file string, l events.Log, log zerolog.Logger) (*books, error) {
	b := &books{Follower: follow.New(), file: file, log: log, moved: make(chan struct{})}
	f, err := os.Open(file)
	if errors.Is(err, os.ErrNotExist) {
		return b, nil
	}
	if err != nil {
		return nil, fmt.Errorf("open the auditor's checkpoint: %w", err)
	}
	defer f.Close()
	old, err := follow.Restore(f)
	if err != nil {
		log.Warn().Err(err).Msg("the auditor's checkpoint is not believable; the whole log is read instead")
		return b, nil
	}
	if err := follow.Behind(ctx, l, old.Checkpoint()); err != nil {
		return nil, fmt.Errorf("the auditor's checkpoint: %w", err)
	}
	b.Follower, b.saved = old, old.Checkpoint().Size
	return b, nil
}

// run follows the log until ctx is done. It ends early, and turns the light red,
// at the first frame that is not believed.
func (b *books) run(ctx context.Context, l events.Log, light *light) {
	for ctx.Err() == nil {
		err := b.Follow(ctx, l, func(follow.Frame) { b.stir() })
		if errors.Is(err, events.ErrCorrupt) {
			light.turn(fmt.Errorf("the auditor does not believe the log: %w", err))
			b.log.Error().Err(err).Msg("the auditor does not believe the log; no more commands are taken")
			return
		}
		if err != nil {
			b.log.Warn().Err(err).Msg("the auditor cannot read on; it tries again")
			select {
			case <-ctx.Done():
			case <-time.After(followPause):
			}
		}
	}
}

// stir wakes those who wait for a frame, and keeps a checkpoint now and then.
func (b *books) stir() {
	b.mu.Lock()
	close(b.moved)
	b.moved = make(chan struct{})
	b.mu.Unlock()
	if b.Checkpoint().Size-b.saved >= checkpointEvents {
		b.save()
	}
}

// next gives a channel that is closed with the next frame.
func (b *books) next() <-chan struct{} {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.moved
}

// reach waits until the books hold a frame, so that a question sees what an
// answer has told. Errors: ctx's, and why the books are not believed.
func (b *books) reach(ctx context.Context, frame uint64) error {
	for {
		b.mu.Lock()
		moved := b.moved
		b.mu.Unlock()
		if err := b.Err(); err != nil {
			return err
		}
		if b.Checkpoint().Seq >= frame {
			return nil
		}
		select {
		case <-moved:
		case <-ctx.Done():
			return fmt.Errorf("%w: the auditor has not come to frame %d yet", events.ErrUnreachable, frame)
		}
	}
}

// save writes a checkpoint. One that fails costs only a slower start.
func (b *books) save() {
	size := b.Checkpoint().Size
	if b.Err() != nil || size == b.saved {
		return
	}
	if err := engine.WriteWhole(b.file, b.Save); err != nil {
		b.log.Warn().Err(err).Msg("the auditor's checkpoint was not written; the next start reads more of the log")
	}
	b.saved = size
}
