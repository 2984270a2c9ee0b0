package door

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"

	"packwright/events"
	"packwright/workflow"
	"packwright/workflow/engine"
)

// Floor is a floor that takes commands: here, over the bus or over HTTP.
type Floor interface {
	// Ask gives a command and waits for the answer. It never fails silently:
	// see [Answer.Err].
	Ask(ctx context.Context, c workflow.Command) Answer
	// Close lets go of the floor.
	Close() error
}

// Local asks the engine in this process, as both other doors do.
type Local struct {
	Writer *engine.Engine
}

var _ Floor = Local{}

// Ask gives a command to the engine.
func (l Local) Ask(ctx context.Context, c workflow.Command) Answer {
	got, err := l.Writer.Do(ctx, c)
	a := given(c.ID, got, err)
	if len(got.Events) > 0 && l.maySee(ctx, got.Events[0].Badge) {
		a.Events, err = lines(got.Events)
		if err != nil {
			return troubled(c.ID, err)
		}
	}
	return a
}

// Close does nothing: the engine is its owner's.
func (l Local) Close() error { return nil }

// seers are the roles that see the events their commands led to.
var seers = []events.Role{events.Supervisor, events.Owner}

// maySee asks the floor for a badge's roles. When it cannot say, nothing is shown.
func (l Local) maySee(ctx context.Context, badge string) (may bool) {
	if badge == "" {
		return false
	}
	_ = l.Writer.View(ctx, func(f *workflow.Floor) {
		b := f.Badges[badge]
		may = b != nil && slices.ContainsFunc(b.Roles, func(r events.Role) bool { return slices.Contains(seers, r) })
	})
	return may
}

// lines writes events as they stand in the log.
func lines(evs []events.Event) ([]json.RawMessage, error) {
	out := make([]json.RawMessage, len(evs))
	for i := range evs {
		line, err := events.Encode(nil, &evs[i])
		if err != nil {
			return nil, fmt.Errorf("write event %s: %w", evs[i].Seq, err)
		}
		out[i] = line
	}
	return out, nil
}
