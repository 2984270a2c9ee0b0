package memlog

import (
	"fmt"

	"packwright/events"
)

// When says at which step of an Append a fault is asked.
type When int

const (
	Before When = iota // nothing of this frame is stored yet
	After              // the frame is stored, its answer not yet given
)

// A Fault decides what becomes of the nth Append of this log (counted from 1,
// resends included). nil lets it go on; an error is what the writer hears. At
// Before nothing has been stored, at After all of it has.
type Fault func(n int, when When) error

func (f Fault) ask(n int, when When) error {
	if f == nil {
		return nil
	}
	return f(n, when)
}

// What a writer may hear.
var (
	// ErrLost: no answer came.
	ErrLost = fmt.Errorf("%w: no answer (fault)", events.ErrUnreachable)
	// ErrFull: the disk is full; nothing was stored.
	ErrFull = fmt.Errorf("%w: no space left on the device (fault)", events.ErrUnreachable)
	// ErrFenced: another writer got in between.
	ErrFenced = fmt.Errorf("%w (fault)", events.ErrFenced)
)

// At fails the nth Append, and no other, with err.
func At(n int, when When, err error) Fault {
	return func(i int, w When) error {
		if i == n && w == when {
			return err
		}
		return nil
	}
}

// From fails the nth Append and all later ones with err: a disk that stays
// full, a writer that has been replaced.
func From(n int, when When, err error) Fault {
	return func(i int, w When) error {
		if i >= n && w == when {
			return err
		}
		return nil
	}
}
