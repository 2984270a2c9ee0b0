package natslog

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"

	"packwright/events"
)

const (
	forever = math.MaxUint64
	// idle is how long a reader waits before it looks whether it should have
	// got something: a frame the store can't read is never sent, nor announced.
	idle = time.Second
	// A consumer lives this long after a reader that vanished.
	orphaned = time.Minute
	// retryPause lies between two consumers of one reader.
	retryPause = 100 * time.Millisecond
)

// reading is one Scan or Follow: it hands frames next..to to fn, in order and
// without a gap, over as many consumers as that takes.
type reading struct {
	log  *Log
	next uint64
	to   uint64
	fn   func(seq uint64, frame []byte) error

	refused bool // fn has failed
}

// run reads to the end. A consumer that breaks off (connection lost, a frame
// dropped on the way, a hole) is replaced by one that starts at next, unless
// the store itself says that the frame is not there.
func (r *reading) run(ctx context.Context) error {
	if err := r.walk(); err != nil {
		return fmt.Errorf("read frame %d: %w", r.next, err)
	}
	moved := time.Now()
	for r.next <= r.to {
		from := r.next
		ended, err := r.consume(ctx)
		if ended {
			return err
		}
		if ctx.Err() != nil {
			return fmt.Errorf("read at frame %d: %w: %w", r.next, events.ErrUnreachable, ctx.Err())
		}
		if _, gone := r.log.read(ctx, r.next); errors.Is(gone, events.ErrCorrupt) {
			return fmt.Errorf("read frame %d: %w", r.next, gone)
		}
		if r.next > from {
			moved = time.Now()
		}
		if r.log.alive.Err() != nil || time.Since(moved) > r.log.cfg.Patience {
			return fmt.Errorf("read at frame %d: %w", r.next, r.log.closedError(err))
		}
		select {
		case <-ctx.Done():
		case <-time.After(retryPause):
		}
	}
	return nil
}

// walk sees to it that the server is given no block that would kill it. If one
// is wrong, the frames before the place are taken from the files, and then it is
// told.
func (r *reading) walk() error {
	w := r.log.walk
	wrong := w.over(r.next, r.to)
	if wrong == nil {
		return nil
	}
	err := w.frames(func(seq uint64, frame []byte) error {
		if seq != r.next {
			return nil
		}
		if err := r.fn(seq, bytes.Clone(frame)); err != nil {
			r.refused = true
			return err
		}
		r.next++
		return nil
	})
	if r.refused {
		return err
	}
	return wrong
}

// consumerFrom describes a consumer that begins at a frame.
func consumerFrom(seq uint64) jetstream.ConsumerConfig {
	return jetstream.ConsumerConfig{
		DeliverPolicy:     jetstream.DeliverByStartSequencePolicy,
		OptStartSeq:       seq,
		AckPolicy:         jetstream.AckNonePolicy,
		InactiveThreshold: orphaned,
		MemoryStorage:     true,
		Replicas:          1,
	}
}

// consume reads through one consumer. ended: r is done, or fn has failed with
// err; otherwise err says why the consumer broke off.
func (r *reading) consume(ctx context.Context) (ended bool, err error) {
	l := r.log
	consumer, err := l.js.CreateConsumer(ctx, l.cfg.stream(), consumerFrom(r.next))
	if err != nil {
		return false, err
	}
	defer l.dropConsumer(consumer.CachedInfo().Name)
	p, err := l.newPuller(consumer.CachedInfo().Name)
	if err != nil {
		return false, err
	}
	defer p.stop()
	for r.next <= r.to {
		msg, err := r.wait(ctx, p)
		if err != nil {
			return false, err
		}
		place, err := msg.Metadata()
		if err != nil {
			return false, err
		}
		if place.Sequence.Stream != r.next {
			return false, fmt.Errorf("frame %d came where %d was due", place.Sequence.Stream, r.next)
		}
		if err := r.fn(r.next, msg.Data); err != nil {
			r.refused = true
			return true, err
		}
		r.next++
	}
	return true, nil
}

// wait gives the next message. While none comes, it asks from time to time
// whether one should have.
func (r *reading) wait(ctx context.Context, p *puller) (*nats.Msg, error) {
	for {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		msg, err := p.next(ctx)
		if !errors.Is(err, errIdle) {
			return msg, err
		}
		last, err := r.log.Last(ctx)
		if err != nil {
			return nil, err
		}
		if last >= r.next || (r.to != forever && last < r.to) {
			return nil, fmt.Errorf("frame %d of %d does not come", r.next, last)
		}
	}
}

// dropConsumer removes a reader's consumer; the server would keep it for a
// minute, and refuses the thousandth.
func (l *Log) dropConsumer(name string) {
	ctx, cancel := context.WithTimeout(context.Background(), 2*time.Second)
	defer cancel()
	_ = l.js.DeleteConsumer(ctx, l.cfg.stream(), name) // else it times out by itself
}
