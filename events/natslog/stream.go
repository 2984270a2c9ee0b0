package natslog

import (
	"context"
	"errors"
	"fmt"
	"reflect"
	"strings"
	"time"

	"github.com/nats-io/nats.go/jetstream"

	"packwright/events"
)

// wanted is the stream a floor's log must be: one subject, on disk, nothing
// ever dropped, nothing erased on request, nothing rewritten on the way in.
// DiscardNew stands there for the day someone sets a limit: then new frames
// are refused rather than old ones thrown away.
func wanted(cfg Config) jetstream.StreamConfig {
	return jetstream.StreamConfig{
		Name:              cfg.stream(),
		Subjects:          []string{cfg.subject()},
		Retention:         jetstream.LimitsPolicy,
		Storage:           jetstream.FileStorage,
		Discard:           jetstream.DiscardNew,
		Compression:       jetstream.NoCompression,
		PersistMode:       jetstream.DefaultPersistMode,
		MaxConsumers:      -1,
		MaxMsgs:           -1,
		MaxBytes:          -1,
		MaxMsgsPerSubject: -1,
		MaxMsgSize:        -1,
		Duplicates:        2 * time.Minute,
		Replicas:          1,
		DenyDelete:        true,
		DenyPurge:         true,
		AllowDirect:       true,
	}
}

// ownerMaySet lists the settings that are the bus owner's affair: they change
// where the frames lie, not what becomes of them.
var ownerMaySet = []string{"Description", "Metadata", "Placement", "Replicas"}

// differences names the settings in which a stream is not what it must be.
func differences(got, want jetstream.StreamConfig) []string {
	for _, name := range ownerMaySet {
		reflect.ValueOf(&got).Elem().FieldByName(name).SetZero()
		reflect.ValueOf(&want).Elem().FieldByName(name).SetZero()
	}
	var out []string
	g, w := reflect.ValueOf(got), reflect.ValueOf(want)
	for i := range g.NumField() {
		if !reflect.DeepEqual(g.Field(i).Interface(), w.Field(i).Interface()) {
			out = append(out, fmt.Sprintf("%s is %v, must be %v", g.Type().Field(i).Name, g.Field(i), w.Field(i)))
		}
	}
	return out
}

// wrong tells why the frames in a stream can't be all that were ever stored,
// "" if they can.
func wrong(state jetstream.StreamState) string {
	switch {
	case state.Lost != nil:
		return fmt.Sprintf("the store reports %d frames lost", len(state.Lost.Msgs))
	case state.LastSeq > 0 && state.FirstSeq != 1:
		return fmt.Sprintf("the first frame is %d, must be 1", state.FirstSeq)
	case state.NumDeleted > 0 || state.Msgs != state.LastSeq:
		return fmt.Sprintf("it holds %d frames, the last is %d", state.Msgs, state.LastSeq)
	}
	return ""
}

// openStream finds or founds the floor's stream and refuses any that is not
// what it must be. mustExist: frames were stored here before.
func (l *Log) openStream(ctx context.Context, mustExist bool) error {
	want := wanted(l.cfg)
	stream, err := l.js.Stream(ctx, want.Name)
	if errors.Is(err, jetstream.ErrStreamNotFound) {
		if mustExist {
			return fmt.Errorf("%w: stream %s is missing, though this floor has been founded", events.ErrCorrupt, want.Name)
		}
		stream, err = l.js.CreateStream(ctx, want)
	}
	if err != nil {
		return fmt.Errorf("stream %s: %w: %w", want.Name, events.ErrUnreachable, err)
	}
	if err := l.asItMustBe(stream.CachedInfo()); err != nil {
		return err
	}
	l.stream = stream
	return nil
}

// Check compares the stream, as it is now, with what it must be: whoever may
// change streams could do so while the log is open. Errors: ErrCorrupt, with the
// difference; ErrUnreachable.
func (l *Log) Check(ctx context.Context) error {
	found, err := l.stream.Info(ctx)
	if errors.Is(err, jetstream.ErrStreamNotFound) {
		return fmt.Errorf("%w: stream %s is gone", events.ErrCorrupt, l.cfg.stream())
	}
	if err != nil {
		return fmt.Errorf("look at the stream: %w: %w", events.ErrUnreachable, err)
	}
	return l.asItMustBe(found)
}

func (l *Log) asItMustBe(found *jetstream.StreamInfo) error {
	if diff := differences(found.Config, wanted(l.cfg)); diff != nil {
		return fmt.Errorf("%w: stream %s: %s", events.ErrCorrupt, l.cfg.stream(), strings.Join(diff, "; "))
	}
	if why := wrong(found.State); why != "" {
		return fmt.Errorf("%w: stream %s: %s", events.ErrCorrupt, l.cfg.stream(), why)
	}
	return nil
}
