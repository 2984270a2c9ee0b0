package events

import (
	"context"
	"errors"
)

// MaxFrame is the largest frame, in bytes, that a log takes. The bus refuses a
// message over 1 MiB; a frame stays well below.
const MaxFrame = 768 << 10

// Errors every [Log] keeps its promises by. They come wrapped, with what was tried.
var (
	// ErrFenced: another writer has appended since. Stop, read again, stand by or take over.
	ErrFenced = errors.New("another writer has appended to this log")
	// ErrCorrupt: the log cannot be believed. Stop and show where; never skip.
	ErrCorrupt = errors.New("the log is not believable")
	// ErrNotFound: no frame has that sequence (yet).
	ErrNotFound = errors.New("no frame at this sequence")
	// ErrTooLarge: the frame is over MaxFrame. Nothing was stored.
	ErrTooLarge = errors.New("frame too large")
	// ErrUnreachable: the log did not answer, or answered that it cannot store
	// now. Whether the frame is stored is unknown: append the same bytes again
	// with the same expectation.
	ErrUnreachable = errors.New("the log cannot be reached")
	// ErrLocked: another process holds this log's directory. The text names it.
	ErrLocked = errors.New("the log is held by another process")
)

// A Log keeps frames, numbered 1, 2, 3 and so on without a gap.
//
// Durability: when Append returns nil the frame survives the loss of power.
// Order: one frame is in flight at a time; a Log need not allow two Appends at
// once. Frames are opaque bytes to a Log; it never changes them.
type Log interface {
	// Append stores frame as sequence after+1 and returns when it is durable.
	// A nil error also covers the case that exactly these bytes already stand
	// at after+1: appending again after a lost answer is safe.
	// Errors: ErrFenced (other bytes stand at after+1, or the log is longer),
	// ErrTooLarge, ErrUnreachable, ErrCorrupt.
	Append(ctx context.Context, after uint64, frame []byte) error
	// Last gives the highest sequence, 0 for an empty log.
	Last(ctx context.Context) (uint64, error)
	// Read gives the frame at seq. Errors: ErrNotFound, ErrUnreachable, ErrCorrupt.
	Read(ctx context.Context, seq uint64) ([]byte, error)
	// Scan calls fn for each frame from seq from to the one that was last when
	// Scan was called, in order. fn may keep the bytes. An error of fn ends it.
	Scan(ctx context.Context, from uint64, fn func(seq uint64, frame []byte) error) error
	// Follow is Scan that goes on with new frames until ctx is done (then nil)
	// or fn fails.
	Follow(ctx context.Context, from uint64, fn func(seq uint64, frame []byte) error) error
	// Close releases the log. No call may be made after it.
	Close() error
}
