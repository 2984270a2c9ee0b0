package bench

import (
	"errors"
	"fmt"
)

// Entry is one event as the peers keep it: the command's id, which is kept once,
// and the carton's next number, which only one writer may take. That is the least
// of what the engine's gates ask; the peers ask nothing else.
type Entry struct {
	ID     string
	Carton string
	N      int // 1, 2, 3 … within the carton
	Line   []byte
}

// Peer is what one would take instead of a log of our own: a guarded, durable
// append, a story, a replay.
type Peer interface {
	Name() string
	// Append keeps an entry; it is durable when the call returns. Errors: ErrTaken.
	// Calls of different clients run at once.
	Append(client int, e Entry) error
	// Load puts many entries in, as fast as may be, durable at the end.
	Load(list []Entry) error
	// Story gives every line of a carton, in order.
	Story(carton string) ([][]byte, error)
	// Replay gives every line to fn, in order of appending.
	Replay(fn func(line []byte) error) error
	// Disk is the bytes it holds on disk for all it was given.
	Disk() (int64, error)
	// Restart closes it, opens it again, and appends one entry.
	Restart(e Entry) error
	Close() error
}

// ErrTaken: the id is known, or the carton's number is.
var ErrTaken = errors.New("taken already")

// ErrAbsent: the program a peer needs is not on this machine.
var ErrAbsent = errors.New("not on this machine")

func taken(e Entry) error { return fmt.Errorf("%s, %s %d: %w", e.ID, e.Carton, e.N, ErrTaken) }
