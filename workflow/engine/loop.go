package engine

import (
	"context"
	"errors"
	"fmt"
	"runtime"
	"runtime/debug"
	"time"

	"golang.org/x/mod/sumdb/tlog"

	"packwright/events"
	"packwright/workflow"
)

// building is a frame that gathers events, and those who wait for it.
type building struct {
	seq     uint64
	size    int64     // events in the log before it
	root    tlog.Hash // root over them
	lines   [][]byte
	events  []events.Event
	bytes   int
	waiting []waiter
}

// waiter is an asker whose answer is known and must wait until it is durable.
type waiter struct {
	req    *request
	answer Answer
}

// job is an append for the appender.
type job struct {
	after uint64
	frame []byte
}

// Retries of a lost append, with the same bytes: some seconds in all.
const (
	appendTries = 6
	appendPause = 100 * time.Millisecond
)

// appender does the only I/O of the writer, one frame at a time.
func (e *Engine) appender() {
	for j := range e.jobs {
		e.results <- e.append(j)
	}
}

func (e *Engine) append(j job) (err error) {
	pause := appendPause
	for try := 0; try < appendTries; try++ {
		if err = e.cfg.Log.Append(context.Background(), j.after, j.frame); !errors.Is(err, events.ErrUnreachable) {
			return err
		}
		e.cfg.Logger.Warn().Uint64("frame", j.after+1).Err(err).Msg("append not answered; the same frame is sent again")
		time.Sleep(pause)
		pause *= 2
	}
	return err
}

// loop is the writer: it decides, gathers and settles, one thing at a time.
func (e *Engine) loop() {
	defer close(e.ended)
	defer close(e.jobs)
	for {
		e.flush()
		if e.shut && e.build == nil && e.flight == nil {
			e.snapshot()
			e.stop(errClosed)
			return
		}
		in := e.in
		if e.shut || e.build.full() || e.snapshotDue() {
			in = nil // settle first
		}
		done := e.done
		if e.shut {
			done = nil
		}
		var err error
		select {
		case r := <-in:
			err = e.take(r)
		case fn := <-e.look:
			fn(e.floor)
		case got := <-e.results:
			if err = e.settle(got); err == nil {
				err = e.linger()
			}
		case <-done:
			e.shut = true
		}
		if err != nil {
			e.stop(err)
			return
		}
	}
}

// take judges a command, and when no append is under way others that wait.
// The error ends the engine.
func (e *Engine) take(r *request) error {
	if err := e.judge(r); err != nil || e.flight != nil {
		return err
	}
	return e.linger()
}

// linger lets those just answered ask again before the frame is closed: an
// append costs nearly the same whether it carries thirty commands or sixty. It
// waits for no clock, only until nobody who could run has more to ask.
func (e *Engine) linger() error {
	for idle := 0; idle < 2; idle++ {
		runtime.Gosched()
		for waiting := true; waiting; {
			if e.shut || e.build.full() || e.snapshotDue() {
				return nil // settle first
			}
			select {
			case r := <-e.in:
				if err := e.judge(r); err != nil {
					return err
				}
				idle = -1
			default:
				waiting = false
			}
		}
	}
	return nil
}

func (b *building) full() bool {
	return b != nil && (b.bytes >= FrameBytes || len(b.waiting) >= FrameCommands)
}

// judge decides one command on the working floor.
func (e *Engine) judge(r *request) error {
	if r.ctx.Err() != nil {
		r.out <- reply{err: r.ctx.Err()}
		return nil
	}
	now := events.Max(events.At(e.cfg.Now()), e.floor.Recorded)
	dec, err := e.decide(&r.cmd, now)
	if err != nil {
		r.out <- reply{err: err}
		return nil
	}
	a := Answer{ID: r.cmd.ID, Outcome: dec.Outcome, Refusal: dec.Refusal}
	if !dec.First.IsZero() {
		a.Seq = &dec.First
	}
	if len(dec.Events) == 0 {
		e.answerWhenDurable(waiter{r, a})
		return nil
	}
	lines, size, err := encode(dec.Events)
	if err != nil {
		r.out <- reply{err: err}
		return nil
	}
	if size > CommandBytes {
		a.Outcome, a.Refusal = workflow.No, workflow.TooLarge(r.cmd.Type, size, CommandBytes)
		e.answerWhenDurable(waiter{r, a})
		return nil
	}
	return e.gather(r, a, dec.Events, lines, size)
}

// decide runs the pure part, with its panics caught.
func (e *Engine) decide(c *workflow.Command, now events.Time) (dec workflow.Decision, err error) {
	defer func() {
		if p := recover(); p != nil {
			e.cfg.Logger.Error().Str("command", c.ID).Str("type", c.Type).Interface("panic", p).Msg("deciding failed; the floor is untouched")
			e.cfg.Panicked(*c, p, debug.Stack())
			dec, err = workflow.Decision{Outcome: workflow.No, Refusal: workflow.Undecided()}, nil
		}
	}()
	if no := e.room.refuse(e.cfg.Free, c.Type, now.Std()); no != nil {
		return workflow.Decision{Outcome: workflow.No, Refusal: no}, nil
	}
	return e.pure(e.floor, c, now)
}

// lineBytes is room for most events' lines.
const lineBytes = 320

func encode(evs []events.Event) (lines [][]byte, size int, err error) {
	lines = make([][]byte, len(evs))
	for i := range evs {
		if lines[i], err = events.Encode(make([]byte, 0, lineBytes), &evs[i]); err != nil {
			return nil, 0, err
		}
		size += len(lines[i]) + 1
	}
	return lines, size, nil
}

// gather applies events to the working floor and adds them to the frame.
func (e *Engine) gather(r *request, a Answer, evs []events.Event, lines [][]byte, size int) error {
	if e.build == nil {
		e.build = e.begin()
	}
	b := e.build
	for i := range evs {
		evs[i].Seq = events.Seq{Frame: b.seq, Index: len(b.lines)}
		if err := e.floor.Apply(&evs[i]); err != nil {
			return fmt.Errorf("the decider's own event cannot be placed: %w", err)
		}
		e.chain.Tree.Add(lines[i])
		b.lines = append(b.lines, lines[i])
		b.events = append(b.events, evs[i])
	}
	b.bytes += size
	first := evs[0].Seq
	a.Seq, a.Events = &first, evs
	b.waiting = append(b.waiting, waiter{r, a})
	return nil
}

// begin gives the next frame, with room for what the last one held.
func (e *Engine) begin() *building {
	b := &building{seq: e.chain.Next, size: e.chain.Tree.Size, root: e.chain.Tree.Root(),
		lines: make([][]byte, 0, e.usual), events: make([]events.Event, 0, e.usual), waiting: make([]waiter, 0, e.usual)}
	e.chain.Next++
	return b
}

// answerWhenDurable lets an answer wait for the newest frame it was judged upon.
func (e *Engine) answerWhenDurable(w waiter) {
	switch {
	case e.build != nil:
		e.build.waiting = append(e.build.waiting, w)
	case e.flight != nil:
		e.flight.waiting = append(e.flight.waiting, w)
	default:
		h := e.Head()
		w.answer.Frame, w.answer.Root, w.answer.Era = h.Frame, h.Root, h.Era
		w.req.out <- reply{answer: w.answer}
	}
}

// flush sends the gathered frame when none is in flight.
func (e *Engine) flush() {
	if e.build == nil || e.flight != nil {
		return
	}
	b := e.build
	h := events.Header{Frame: fmt.Sprintf("%s-%d", e.writer, b.seq), Floor: e.cfg.Floor, Size: b.size, Root: b.root, Cells: e.floor.Ledger.Digest()}
	frame, err := events.EncodeFrame(h, b.lines)
	if err != nil {
		panic(err) // a header of strings and numbers always encodes
	}
	e.build, e.flight, e.usual = nil, b, len(b.lines)
	e.jobs <- job{after: b.seq - 1, frame: frame}
}

// settle takes the result of an append: answers, or a new beginning.
func (e *Engine) settle(err error) error {
	b := e.flight
	e.flight = nil
	if err != nil {
		return e.lost(b, err)
	}
	root := e.chain.Tree.Root()
	if e.build != nil {
		root = e.build.root
	}
	e.heads.durable(b.events)
	h := e.setHead(b.seq, b.size+int64(len(b.lines)), root)
	e.cfg.Durable(b.events)
	for _, w := range b.waiting {
		w.answer.Frame, w.answer.Root, w.answer.Era = h.Frame, h.Root, h.Era
		w.req.out <- reply{answer: w.answer}
	}
	e.snapshotIfDue()
	return nil
}

// lost ends what a failed append carried with it. Fenced and corrupt are final;
// after all else the floor is read anew, since what the log holds is unknown.
func (e *Engine) lost(b *building, err error) error {
	err = fmt.Errorf("frame %d: %w", b.seq, err)
	unknown := reply{err: err}
	for _, w := range b.waiting {
		w.req.out <- unknown
	}
	if e.build != nil {
		for _, w := range e.build.waiting {
			w.req.out <- unknown
		}
		e.build = nil
	}
	if errors.Is(err, events.ErrFenced) || errors.Is(err, events.ErrCorrupt) {
		return err
	}
	e.cfg.Logger.Error().Err(err).Msg("append failed; the floor is read anew")
	return e.reread()
}

// stop ends the engine and tells everyone who waits.
func (e *Engine) stop(err error) {
	e.mu.Lock()
	e.dead = err
	e.mu.Unlock()
	for _, b := range []*building{e.build, e.flight} {
		if b == nil {
			continue
		}
		for _, w := range b.waiting {
			w.req.out <- reply{err: err}
		}
	}
	for {
		select {
		case r := <-e.in:
			r.out <- reply{err: err}
		default:
			return
		}
	}
}
