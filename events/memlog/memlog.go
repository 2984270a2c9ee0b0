// Package memlog keeps a floor's frames in memory, with faults on demand.
//
// It is the log of tests: it promises what [events.Log] asks, except that
// nothing outlives the process, and it fails exactly when and how a test says.
// A [Fault] is asked twice in each Append: before anything is stored and after
// the frame is stored. What it returns is what the writer hears, so that every
// step of a day can be run with the frame lost, with only the answer lost,
// with the disk full, or with another writer in between. A fault may also
// wait: a slow disk is a Fault that blocks.
//
// Nothing is random here: the same appends with the same Fault give the same
// log. [Log.Copy] is what a crash at that instant would leave behind;
// [Log.Reopen] is the restart that follows.
package memlog

import (
	"bytes"
	"context"
	"fmt"
	"slices"
	"sync"

	"packwright/events"
)

// Log is an [events.Log] in memory. Its methods may be called by many
// goroutines; Appends are taken one at a time.
type Log struct {
	// Fault, when set, is asked before and after each frame is stored. Set it
	// while no Append runs.
	Fault Fault

	turn sync.Mutex // held through one Append, faults included

	mu      sync.Mutex
	frames  [][]byte
	changed chan struct{} // closed and replaced when a frame is stored, or at Close
	closed  bool
	appends int
}

var _ events.Log = (*Log)(nil)

// New gives a log that already holds these frames as sequences 1, 2, 3 and so on.
func New(frames ...[]byte) *Log {
	l := &Log{changed: make(chan struct{})}
	for _, f := range frames {
		l.frames = append(l.frames, bytes.Clone(f))
	}
	return l
}

// Append stores frame as after+1; see [events.Log]. Faults are asked in the
// order Before, After; an Append refused for its size or place asks Before only.
func (l *Log) Append(ctx context.Context, after uint64, frame []byte) error {
	l.turn.Lock()
	defer l.turn.Unlock()
	if len(frame) > events.MaxFrame {
		return fmt.Errorf("append frame %d of %d bytes, at most %d: %w", after+1, len(frame), events.MaxFrame, events.ErrTooLarge)
	}
	if err := ctx.Err(); err != nil {
		return fmt.Errorf("append frame %d: %w: %w", after+1, events.ErrUnreachable, err)
	}
	n := l.count()
	if err := l.Fault.ask(n, Before); err != nil {
		return fmt.Errorf("append frame %d: %w", after+1, err)
	}
	if err := l.store(after, frame); err != nil {
		return fmt.Errorf("append frame %d: %w", after+1, err)
	}
	if err := l.Fault.ask(n, After); err != nil {
		return fmt.Errorf("append frame %d: %w", after+1, err)
	}
	return nil
}

func (l *Log) count() int {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.appends++
	return l.appends
}

func (l *Log) store(after uint64, frame []byte) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	last := uint64(len(l.frames))
	switch {
	case l.closed:
		return fmt.Errorf("%w: log closed", events.ErrUnreachable)
	case after > last:
		return fmt.Errorf("%w: it ends at %d", events.ErrCorrupt, last)
	case after < last && bytes.Equal(l.frames[after], frame):
		return nil
	case after < last:
		return fmt.Errorf("%w: it ends at %d", events.ErrFenced, last)
	}
	l.frames = append(l.frames, bytes.Clone(frame))
	l.wake()
	return nil
}

// wake tells followers that something changed. l.mu is held.
func (l *Log) wake() {
	close(l.changed)
	l.changed = make(chan struct{})
}

// Last gives the highest sequence, 0 for an empty log.
func (l *Log) Last(ctx context.Context) (uint64, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.closed {
		return 0, fmt.Errorf("last sequence: %w: log closed", events.ErrUnreachable)
	}
	return uint64(len(l.frames)), nil
}

// Read gives a copy of the frame at seq.
func (l *Log) Read(ctx context.Context, seq uint64) ([]byte, error) {
	frame, _, err := l.at(seq)
	if err != nil {
		return nil, fmt.Errorf("read frame %d: %w", seq, err)
	}
	return frame, nil
}

// at gives the frame at seq, or ErrNotFound and the channel that the next
// change closes.
func (l *Log) at(seq uint64) ([]byte, <-chan struct{}, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	switch {
	case l.closed:
		return nil, nil, fmt.Errorf("%w: log closed", events.ErrUnreachable)
	case seq == 0 || seq > uint64(len(l.frames)):
		return nil, l.changed, events.ErrNotFound
	}
	return bytes.Clone(l.frames[seq-1]), nil, nil
}

// Close ends the log. Its frames stay: see [Log.Reopen] and [Log.Copy].
func (l *Log) Close() error {
	l.mu.Lock()
	defer l.mu.Unlock()
	if !l.closed {
		l.closed = true
		l.wake()
	}
	return nil
}

// Reopen closes the log and gives a new one that holds the same frames, as a
// restart would find them. The new log has no faults.
func (l *Log) Reopen() *Log {
	_ = l.Close()
	return l.Copy()
}

// Copy gives a log of its own holding what is stored at this instant, without
// faults: what a crash here would leave. A frame whose Append has not come to
// its storing step is not in it; one whose answer is still to come is.
func (l *Log) Copy() *Log {
	l.mu.Lock()
	defer l.mu.Unlock()
	return New(l.frames...)
}

// Frames gives a copy of all frames, in order.
func (l *Log) Frames() [][]byte {
	l.mu.Lock()
	defer l.mu.Unlock()
	out := slices.Clone(l.frames)
	for i, f := range out {
		out[i] = bytes.Clone(f)
	}
	return out
}
