package natslog

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"

	"packwright/events"
)

// How the bus says no. Both codes mean that the expected last sequence was
// wrong; which one comes depends on where in a cluster it is noticed.
const (
	wrongLastSequence         jetstream.ErrorCode = 10071
	wrongLastSequenceConstant jetstream.ErrorCode = 10164
	insufficientResources     jetstream.ErrorCode = 10023
	storageExceeded           jetstream.ErrorCode = 10047
	accountExceeded           jetstream.ErrorCode = 10002
	noMessageFound            jetstream.ErrorCode = 10037
)

const resendPause = 50 * time.Millisecond // between sends that failed at once

// Append stores frame as after+1 and returns when it is durable; see
// [events.Log]. While no answer comes it sends the same frame again with the
// same expectation, until it is answered, ctx ends or Config.Patience is over.
func (l *Log) Append(ctx context.Context, after uint64, frame []byte) error {
	if len(frame) > events.MaxFrame {
		return fmt.Errorf("append frame %d of %d bytes, at most %d: %w", after+1, len(frame), events.MaxFrame, events.ErrTooLarge)
	}
	ctx, cancel := context.WithTimeout(ctx, l.cfg.Patience)
	defer cancel()
	defer context.AfterFunc(l.alive, cancel)()
	err := l.takeTurn(ctx)
	if err == nil {
		err = l.store(ctx, after, frame)
		<-l.turn
	}
	if err != nil {
		return fmt.Errorf("append frame %d: %w", after+1, err)
	}
	return nil
}

func (l *Log) takeTurn(ctx context.Context) error {
	if ctx.Err() != nil {
		return l.noAnswer(ctx, errors.New("not sent"))
	}
	select {
	case l.turn <- struct{}{}:
		return nil
	case <-ctx.Done():
		return l.noAnswer(ctx, errors.New("not sent: another append is still under way"))
	}
}

// noAnswer is what a writer hears when it is not known whether its frame is
// stored: the store's own failure if it has one, else what came last.
func (l *Log) noAnswer(ctx context.Context, last error) error {
	if err := context.Cause(l.alive); err != nil {
		return err
	}
	return fmt.Errorf("%w: %w (%v)", events.ErrUnreachable, ctx.Err(), last)
}

// store sends the frame until it stands in the log or can't.
func (l *Log) store(ctx context.Context, after uint64, frame []byte) error {
	msg := nats.NewMsg(l.cfg.subject())
	msg.Data = frame
	msg.Header.Set(jetstream.ExpectedLastSeqHeader, strconv.FormatUint(after, 10))
	for {
		settled, err := l.send(ctx, msg, after)
		if settled {
			if err == nil {
				err = l.settle()
			}
			return err
		}
		select {
		case <-ctx.Done():
			return l.noAnswer(ctx, err)
		case <-time.After(resendPause):
		}
	}
}

// send sends once. settled false: not known yet, send again.
func (l *Log) send(ctx context.Context, msg *nats.Msg, after uint64) (settled bool, err error) {
	once, cancel := context.WithTimeout(ctx, l.cfg.AckWait)
	answer, err := l.request(once, msg)
	cancel()
	if err != nil {
		return false, err
	}
	var ack struct {
		*jetstream.PubAck
		Error *jetstream.APIError `json:"error"`
	}
	if err := json.Unmarshal(answer.Data, &ack); err != nil {
		return false, fmt.Errorf("answer %.80q: %w", answer.Data, err)
	}
	switch {
	case ack.Error != nil:
		return l.refused(ctx, ack.Error, msg, after)
	case ack.PubAck == nil || ack.Stream != l.cfg.stream() || ack.Sequence != after+1:
		return true, fmt.Errorf("%w: the store answered %.120q", events.ErrCorrupt, answer.Data)
	}
	return true, nil
}

// refused reads a refusal.
func (l *Log) refused(ctx context.Context, why *jetstream.APIError, msg *nats.Msg, after uint64) (settled bool, err error) {
	switch why.ErrorCode {
	case wrongLastSequence, wrongLastSequenceConstant:
		return l.whose(ctx, msg, after)
	case insufficientResources, storageExceeded, accountExceeded:
		return true, fmt.Errorf("%w: %w: %w", events.ErrUnreachable, ErrFull, why)
	}
	return true, fmt.Errorf("%w: %w", events.ErrUnreachable, why)
}

// whose finds out, after a wrong-last refusal, what stands at the place: this
// frame, from a send whose answer was lost; another's; or nothing.
func (l *Log) whose(ctx context.Context, msg *nats.Msg, after uint64) (settled bool, err error) {
	last, err := l.Last(ctx)
	if err != nil {
		return false, err
	}
	switch {
	case last < after:
		return true, fmt.Errorf("%w: it ends at %d, the writer has seen %d", events.ErrCorrupt, last, after)
	case last == after: // refused for a frame that a cluster has not committed yet
		return false, errors.New("refused, though nothing stands there")
	}
	stored, err := l.readLeader(ctx, after+1)
	switch {
	case errors.Is(err, events.ErrNotFound):
		return true, fmt.Errorf("%w: it ends at %d, frame %d is missing", events.ErrCorrupt, last, after+1)
	case err != nil:
		return false, err
	case !bytes.Equal(stored, msg.Data):
		return true, fmt.Errorf("%w: it ends at %d", events.ErrFenced, last)
	}
	return true, nil
}

// settle makes durable what the server leaves open: a new block's directory
// entry. After a failed sync nobody knows what the disk holds, so it is final.
func (l *Log) settle() error {
	if l.blocks == nil || l.cfg.NoSync {
		return nil
	}
	if err := l.blocks.settle(); err != nil {
		l.storeFailed(fmt.Errorf("sync the block directory: %w", err))
		return context.Cause(l.alive)
	}
	return nil
}
