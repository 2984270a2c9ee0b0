package main

import (
	"context"
	"fmt"
	"time"

	"packwright/audit"
	"packwright/audit/follow"
	"packwright/events"
)

// auditor answers questions from its own reading of the log, which believes
// nothing that the writer says: package follow compares its books with the
// digest in each frame. A hub's reader goes on by itself (books.go).
type auditor struct {
	log    events.Log
	reader *follow.Follower
	now    func() time.Time // what waiting is measured from; nil: the log's own time
}

func newAuditor(log events.Log) *auditor { return &auditor{log: log, reader: follow.New()} }

// read takes all frames that are there now.
func (a *auditor) read(ctx context.Context) error { return a.reader.CatchUp(ctx, a.log) }

// view is the log as it was read up to a moment.
type view struct {
	*audit.Fold
	now  events.Time
	root string // over all that was read; empty for a moment of the past
}

// look gives fn the log as it stands, or as it was known at a moment, which is
// then read anew. fn must not keep the view.
func (a *auditor) look(ctx context.Context, at string, fn func(view) error) error {
	if at != "" {
		return a.lookBack(ctx, at, fn)
	}
	for {
		head, fits := a.reader.Checkpoint(), false
		var err error
		a.reader.View(func(f *audit.Fold) {
			if fits = f.Last().Frame == head.Seq; !fits {
				return // a frame came in between
			}
			now := f.Now()
			if a.now != nil {
				now = events.At(a.now())
			}
			err = fn(view{f, now, head.Root})
		})
		if fits {
			return err
		}
	}
}

func (a *auditor) lookBack(ctx context.Context, at string, fn func(view) error) error {
	var placed events.Time
	a.reader.View(func(f *audit.Fold) { placed = f.LastPlaced() })
	until, err := parseMoment(at, placed)
	if err != nil {
		return err
	}
	past, err := follow.Until(ctx, a.log, until)
	if err != nil {
		return err
	}
	if past.Events() == 0 {
		return nothing(fmt.Sprintf("nothing was recorded up to %s", until), "ask for a later moment")
	}
	return fn(view{past, until, ""})
}
