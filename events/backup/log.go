package backup

import (
	"context"
	"errors"
	"fmt"
	"io"

	"packwright/events"
)

// Log is a backup as a log to be read: nothing can be appended or followed. Each
// reading opens the file anew and proves it from its first byte.
type Log struct {
	Open func() (io.ReadCloser, error)
}

var _ events.Log = Log{}

// Last gives the last frame that the first line promises.
func (l Log) Last(context.Context) (uint64, error) {
	f, err := l.Open()
	if err != nil {
		return 0, err
	}
	h, err := ReadHeader(f)
	return h.To, errors.Join(err, f.Close())
}

// Scan gives the frames from one on, and ends well only when the whole file,
// its last line included, is proven.
func (l Log) Scan(ctx context.Context, from uint64, fn func(seq uint64, frame []byte) error) error {
	f, err := l.Open()
	if err != nil {
		return err
	}
	_, _, err = Read(f, func(seq uint64, frame []byte) error {
		if err := ctx.Err(); err != nil || seq < from {
			return err
		}
		return fn(seq, frame)
	})
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	return err
}

// Read gives one frame, at the cost of reading all before it.
func (l Log) Read(ctx context.Context, seq uint64) (frame []byte, err error) {
	err = l.Scan(ctx, seq, func(_ uint64, b []byte) error { frame = b; return errEnough })
	if errors.Is(err, errEnough) {
		return frame, nil
	}
	if err == nil {
		err = fmt.Errorf("frame %d: %w", seq, events.ErrNotFound)
	}
	return nil, err
}

// Append is not for backups.
func (Log) Append(context.Context, uint64, []byte) error { return errors.ErrUnsupported }

// Follow is not for backups.
func (Log) Follow(context.Context, uint64, func(uint64, []byte) error) error {
	return errors.ErrUnsupported
}

// Close does nothing: every reading closes what it opened.
func (Log) Close() error { return nil }
