package natslog

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"

	"packwright/events"
)

// Last gives the highest sequence, 0 for an empty log.
func (l *Log) Last(ctx context.Context) (uint64, error) {
	found, err := l.stream.Info(ctx)
	if err != nil {
		return 0, fmt.Errorf("last sequence: %w: %w", events.ErrUnreachable, err)
	}
	return found.State.LastSeq, nil
}

// Read gives the frame at seq, by direct get. A sequence the log has passed
// without a frame there, or with one whose checksum fails, is ErrCorrupt.
func (l *Log) Read(ctx context.Context, seq uint64) ([]byte, error) {
	frame, err := l.read(ctx, seq)
	if err != nil {
		return nil, fmt.Errorf("read frame %d: %w", seq, err)
	}
	return frame, nil
}

func (l *Log) read(ctx context.Context, seq uint64) ([]byte, error) {
	if seq == 0 {
		return nil, events.ErrNotFound
	}
	if err := l.walk.over(seq, seq); err != nil {
		return nil, err
	}
	msg, err := l.stream.GetMsg(ctx, seq)
	switch {
	case err == nil && msg.Sequence != seq:
		return nil, fmt.Errorf("%w: the store answered with frame %d", events.ErrCorrupt, msg.Sequence)
	case err == nil:
		return msg.Data, nil
	case !errors.Is(err, jetstream.ErrMsgNotFound):
		return nil, fmt.Errorf("%w: %w", events.ErrUnreachable, err)
	}
	// Not there: still to come, late on this replica, or lost. The end is asked
	// for first: a frame appended between the two questions is then found.
	last, err := l.Last(ctx)
	if err != nil {
		return nil, err
	}
	if seq > last {
		return nil, events.ErrNotFound
	}
	frame, err := l.readLeader(ctx, seq)
	if errors.Is(err, events.ErrNotFound) {
		return nil, fmt.Errorf("%w: the store holds frames up to %d, but no readable frame %d", events.ErrCorrupt, last, seq)
	}
	return frame, err
}

// readLeader reads where frames are written; a direct get may be answered by a
// replica that lags. Error: ErrNotFound, ErrUnreachable.
func (l *Log) readLeader(ctx context.Context, seq uint64) ([]byte, error) {
	answer, err := l.reader.RequestWithContext(ctx, "$JS.API.STREAM.MSG.GET."+l.cfg.stream(), fmt.Appendf(nil, `{"seq":%d}`, seq))
	if err != nil {
		return nil, fmt.Errorf("%w: %w", events.ErrUnreachable, err)
	}
	var got struct {
		Message struct {
			Seq  uint64 `json:"seq"`
			Data []byte `json:"data"`
		} `json:"message"`
		Error *jetstream.APIError `json:"error"`
	}
	if err := json.Unmarshal(answer.Data, &got); err != nil {
		return nil, fmt.Errorf("%w: answer %.80q: %w", events.ErrUnreachable, answer.Data, err)
	}
	switch {
	case got.Error == nil && got.Message.Seq == seq:
		return got.Message.Data, nil
	case got.Error != nil && got.Error.ErrorCode == noMessageFound:
		return nil, events.ErrNotFound
	case got.Error != nil:
		return nil, fmt.Errorf("%w: %w", events.ErrUnreachable, got.Error)
	}
	return nil, fmt.Errorf("%w: the store answered with frame %d", events.ErrCorrupt, got.Message.Seq)
}

// Scan calls fn for each frame from from to the last at this moment, through
// one consumer that is gone when Scan returns.
func (l *Log) Scan(ctx context.Context, from uint64, fn func(seq uint64, frame []byte) error) error {
	last, err := l.Last(ctx)
	if err != nil {
		return fmt.Errorf("scan from frame %d: %w", from, err)
	}
	r := reading{log: l, next: max(from, 1), to: last, fn: fn}
	return r.run(ctx)
}

// Follow calls fn for each frame from from on until ctx is done or fn fails.
// It outlives lost connections of less than Config.Patience.
func (l *Log) Follow(ctx context.Context, from uint64, fn func(seq uint64, frame []byte) error) error {
	r := reading{log: l, next: max(from, 1), to: forever, fn: fn}
	err := r.run(ctx)
	if ctx.Err() != nil && !r.refused {
		return nil
	}
	return err
}

// closedError turns the client's words for a closed connection into ours.
func (l *Log) closedError(err error) error {
	if errors.Is(err, nats.ErrConnectionClosed) {
		if cause := context.Cause(l.alive); cause != nil {
			return cause
		}
	}
	return fmt.Errorf("%w: %w", events.ErrUnreachable, err)
}
