package natslog

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"time"

	"github.com/nats-io/nats.go"
)

// What is on the way to a reader: at most pullFrames, asked for in requests that
// each end at pullBytes, so at most twice that. A client that asks by bytes alone
// makes room for a million frames, 8 MB for each reader that follows a log; one
// that asks by count alone is overrun by large frames, and drops them.
const (
	pullFrames  = 256
	pullBytes   = 4 << 20
	pullExpires = 30 * time.Second
)

// puller asks a consumer for frames, and for more when half of them are there.
type puller struct {
	conn  *nats.Conn
	alive context.Context // done: nothing comes any more
	ask   string          // subject to ask on
	sub   *nats.Subscription
	come  chan *nats.Msg
	due   int // asked for and not seen yet, nor called off
	idle  *time.Timer
}

// errIdle: nothing came for a while.
var errIdle = errors.New("nothing came")

func (l *Log) newPuller(consumer string) (*puller, error) {
	const statuses = 16 // of requests that have ended
	p := &puller{conn: l.reader, alive: l.alive, ask: "$JS.API.CONSUMER.MSG.NEXT." + l.cfg.stream() + "." + consumer,
		come: make(chan *nats.Msg, pullFrames+statuses), idle: time.NewTimer(idle)}
	var err error
	p.sub, err = l.reader.ChanSubscribe(l.reader.NewInbox(), p.come)
	return p, err
}

func (p *puller) stop() {
	p.idle.Stop()
	_ = p.sub.Unsubscribe() // only a closed connection refuses, and has none
}

// next gives the next message with a frame. Errors: errIdle, the context's, or
// why nothing more can come.
func (p *puller) next(ctx context.Context) (*nats.Msg, error) {
	for {
		if p.due <= pullFrames/2 {
			if err := p.more(); err != nil {
				return nil, err
			}
		}
		msg, err := p.wait(ctx)
		if err != nil {
			return nil, err
		}
		status := msg.Header.Get("Status")
		if status == "" {
			p.due--
			return msg, nil
		}
		if err := p.ended(status, msg.Header); err != nil {
			return nil, err
		}
	}
}

// more asks for as many frames as there is room for.
func (p *puller) more() error {
	n := pullFrames - p.due
	err := p.conn.PublishRequest(p.ask, p.sub.Subject, fmt.Appendf(nil, `{"batch":%d,"max_bytes":%d,"expires":%d}`, n, pullBytes, pullExpires))
	p.due += n
	return err
}

// wait gives what comes next.
func (p *puller) wait(ctx context.Context) (*nats.Msg, error) {
	select {
	case msg := <-p.come:
		return msg, nil
	default:
	}
	p.idle.Reset(idle)
	select {
	case msg := <-p.come:
		return msg, nil
	case <-p.alive.Done():
		return nil, nats.ErrConnectionClosed
	case <-p.idle.C:
		return nil, errIdle
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// ended takes note of a request that is over: by its time, its bytes, its count.
// What it did not bring is not due any more.
func (p *puller) ended(status string, h nats.Header) error {
	left := h.Get("Nats-Pending-Messages")
	if left == "" {
		if status == "100" {
			return nil // a sign of life
		}
		return fmt.Errorf("the consumer says %s %s", status, h.Get("Description"))
	}
	n, err := strconv.Atoi(left)
	if err != nil {
		return fmt.Errorf("the consumer says %s, %q frames left: %w", status, left, err)
	}
	p.due = max(p.due-n, 0)
	return nil
}
