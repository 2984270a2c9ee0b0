// Package engine is the floor's single writer: the only place where deciding
// meets the disk.
//
//	Do → queue → Decide on the working floor → events → frame → Append → answers
//
// One goroutine decides, in order. Its events are applied to the working floor
// at once, so that the next command is judged on all that went before, in the
// same frame or an earlier one. While one append waits for its fsync, further
// commands are decided and gather in the next frame: that is the group commit.
// One frame is in flight at a time, and each carries the sequence it expects.
//
// Nothing is answered before it is durable. Even a refusal waits for the frames
// it was judged upon: it may speak of a fact that is not durable yet.
//
// When an append is lost the same bytes are sent again. When it fails for good
// the working floor is thrown away and read anew from snapshot and log; every
// command that waited hears that its outcome is unknown, and is safe to send
// again under its id. When another writer has appended (events.ErrFenced) or the
// log cannot be believed (events.ErrCorrupt), the engine stops for good.
//
// A panic in Decide is caught for that one command: it is answered E-SYS-06 and
// handed to Config.Panicked; the floor is untouched, since Decide changes nothing.
package engine

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"
	"sync"
	"time"

	"github.com/rs/zerolog"
	"golang.org/x/mod/sumdb/tlog"

	"packwright/events"
	"packwright/events/proof"
	"packwright/workflow"
)

// Bounds of one frame and of the queue before it.
const (
	FrameBytes    = 256 << 10
	FrameCommands = 512
	CommandBytes  = 512 << 10 // events of one command; more is refused
	QueueLength   = 1024
)

// ErrBusy: the queue is full; the command was not looked at. Send it again.
var ErrBusy = errors.New("the hub's queue is full")

// Config is what a writer needs. Log, Floor and Now must be given.
type Config struct {
	Log      events.Log
	Floor    string // name of the floor, in every frame header
	Policy   *workflow.Policy
	Now      func() time.Time
	Snapshot string // directory for snapshots; empty: none
	Every    int64  // events between snapshots; 0: 100 000
	Logger   zerolog.Logger

	// Durable is called in order, from the writer, with the events of each
	// frame once they are durable. It must not block or call the engine.
	Durable func([]events.Event)
	// Panicked is told of a command that made Decide panic.
	Panicked func(c workflow.Command, what any, stack []byte)
	// Free tells the store's free and total bytes, for E-SYS-03.
	Free func() (free, total uint64, err error)
}

// Engine is a running writer. Its methods may be called by many goroutines.
type Engine struct {
	cfg    Config
	writer string
	in     chan *request
	look   chan func(*workflow.Floor)
	done   chan struct{} // closed by Close
	ended  chan struct{} // closed when the loop has ended
	once   sync.Once

	heads pastHeads

	mu   sync.Mutex
	dead error // why the loop ended for good
	head Head

	// What follows belongs to the loop alone.
	floor   *workflow.Floor
	chain   proof.Chain
	build   *building // gathers while another is in flight
	flight  *building
	usual   int // events of the frame sent last
	jobs    chan job
	results chan error
	shut    bool  // Close was called: finish what is gathered
	snapped int64 // tree size at the last snapshot
	room    room
	pure    func(*workflow.Floor, *workflow.Command, events.Time) (workflow.Decision, error) // workflow.Decide but in tests
}

// Head is how far the log has come, durably.
type Head struct {
	Frame uint64 `json:"frame"`
	Size  int64  `json:"size"`          // events
	Root  string `json:"root"`          // RFC 6962, over all of them
	Era   string `json:"era,omitempty"` // begun by the newest events.LogRestored
}

// Answer is what the asker hears, after everything it rests on is durable.
type Answer struct {
	ID      string            `json:"id"`
	Outcome workflow.Outcome  `json:"outcome"`
	Seq     *events.Seq       `json:"seq,omitempty"` // first event of the command
	Root    string            `json:"root,omitempty"`
	Frame   uint64            `json:"frame,omitempty"` // Root is the root after this frame
	Era     string            `json:"era,omitempty"`   // in which that is so; the first has no name
	Refusal *workflow.Refusal `json:"refusal,omitempty"`
	Events  []events.Event    `json:"-"` // for those who may see them
}

type request struct {
	cmd workflow.Command
	ctx context.Context
	out chan reply
}

type reply struct {
	answer Answer
	err    error
}

// Open reads snapshot and log, and starts the writer. It does not write.
// Errors: events.ErrCorrupt when log or snapshot are not believable.
func Open(ctx context.Context, cfg Config) (*Engine, error) {
	if cfg.Every == 0 {
		cfg.Every = 100_000
	}
	if cfg.Durable == nil {
		cfg.Durable = func([]events.Event) {}
	}
	if cfg.Panicked == nil {
		cfg.Panicked = func(workflow.Command, any, []byte) {}
	}
	id := make([]byte, 6)
	if _, err := rand.Read(id); err != nil {
		return nil, fmt.Errorf("name the writer: %w", err)
	}
	e := &Engine{cfg: cfg, writer: hex.EncodeToString(id), in: make(chan *request, QueueLength), look: make(chan func(*workflow.Floor)),
		done: make(chan struct{}), ended: make(chan struct{}), jobs: make(chan job), results: make(chan error, 1), pure: workflow.Decide}
	if err := e.rebuild(ctx); err != nil {
		return nil, fmt.Errorf("open the floor %s: %w", cfg.Floor, err)
	}
	go e.appender()
	go e.loop()
	return e, nil
}

// Do gives a command and waits for its answer. A shut gate is an answer, not an
// error. Errors: *prep.InputError (cannot be read), ErrBusy, events.ErrUnreachable
// and ctx's (outcome unknown; safe to send again), events.ErrFenced and
// events.ErrCorrupt (the engine has stopped).
func (e *Engine) Do(ctx context.Context, c workflow.Command) (Answer, error) {
	if no, err := e.witness(ctx, &c); err != nil {
		return Answer{}, err
	} else if no != nil {
		h := e.Head()
		return Answer{ID: c.ID, Outcome: workflow.No, Refusal: no, Frame: h.Frame, Root: h.Root, Era: h.Era}, nil
	}
	r := &request{cmd: c, ctx: ctx, out: make(chan reply, 1)}
	select {
	case e.in <- r:
	case <-e.ended:
		return Answer{}, e.reason()
	default:
		return Answer{}, fmt.Errorf("%s: %w", c.ID, ErrBusy)
	}
	select {
	case got := <-r.out:
		return got.answer, got.err
	case <-ctx.Done():
		return Answer{}, fmt.Errorf("%s: outcome unknown: %w", c.ID, ctx.Err())
	case <-e.ended:
		select {
		case got := <-r.out:
			return got.answer, got.err
		default:
			return Answer{}, e.reason()
		}
	}
}

// View lets fn read the working floor between two commands. fn must be short,
// keep nothing of it and change nothing. What it sees may not be durable yet.
func (e *Engine) View(ctx context.Context, fn func(*workflow.Floor)) error {
	over := make(chan struct{})
	select {
	case e.look <- func(f *workflow.Floor) { defer close(over); fn(f) }:
		<-over
		return nil
	case <-e.ended:
		return e.reason()
	case <-ctx.Done():
		return ctx.Err()
	}
}

// Head tells how far the log has come, durably.
func (e *Engine) Head() Head {
	e.mu.Lock()
	defer e.mu.Unlock()
	return e.head
}

// Err gives why the engine has stopped, or nil while it runs.
func (e *Engine) Err() error {
	select {
	case <-e.ended:
		return e.reason()
	default:
		return nil
	}
}

// Close finishes what is decided, writes a snapshot, and ends the writer. It
// does not close the log.
func (e *Engine) Close() error {
	e.once.Do(func() { close(e.done) })
	<-e.ended
	if err := e.reason(); !errors.Is(err, errClosed) {
		return err
	}
	return nil
}

var errClosed = errors.New("the engine is closed")

func (e *Engine) reason() error {
	e.mu.Lock()
	defer e.mu.Unlock()
	return e.dead
}

func (e *Engine) setHead(frame uint64, size int64, root tlog.Hash) Head {
	h := Head{Frame: frame, Size: size, Root: proof.Hex(root), Era: e.heads.era()}
	e.heads.add(frame, size, root)
	e.mu.Lock()
	e.head = h
	e.mu.Unlock()
	return h
}
