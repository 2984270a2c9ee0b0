package memlog

import (
	"context"
	"errors"
	"fmt"

	"packwright/events"
)

// Scan calls fn for each frame from from to the last at this moment.
func (l *Log) Scan(ctx context.Context, from uint64, fn func(seq uint64, frame []byte) error) error {
	last, err := l.Last(ctx)
	if err != nil {
		return err
	}
	for seq := max(from, 1); seq <= last; seq++ {
		if err := ctx.Err(); err != nil {
			return fmt.Errorf("scan at frame %d: %w: %w", seq, events.ErrUnreachable, err)
		}
		frame, err := l.Read(ctx, seq)
		if err != nil {
			return err
		}
		if err := fn(seq, frame); err != nil {
			return err
		}
	}
	return nil
}

// Follow calls fn for each frame from from on, until ctx is done or fn fails.
func (l *Log) Follow(ctx context.Context, from uint64, fn func(seq uint64, frame []byte) error) error {
	for seq := max(from, 1); ctx.Err() == nil; {
		frame, changed, err := l.at(seq)
		switch {
		case errors.Is(err, events.ErrNotFound):
			select {
			case <-changed:
			case <-ctx.Done():
			}
		case err != nil:
			return fmt.Errorf("follow at frame %d: %w", seq, err)
		default:
			if err := fn(seq, frame); err != nil {
				return err
			}
			seq++
		}
	}
	return nil
}
