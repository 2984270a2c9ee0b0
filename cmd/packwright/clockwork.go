package main

import (
	"context"
	"crypto/rand"
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"github.com/rs/zerolog"

	"packwright/cmd/packwright/door"
	"packwright/events"
	"packwright/workflow"
	"packwright/workflow/engine"
)

// clockwork gives the commands that no hand gives: it tells the floor of silent
// benches, idle badges and clocks that differ, and has a head signed that is due
// still, or of a day that nobody has closed. The floor's gates decide whether
// any of it is worth a line in the log; most of the time nothing is.
type clockwork struct {
	writer *engine.Engine
	floor  door.Floor // past the watch: the clockwork is nobody's sign of life
	heads  *signing
	watch  *door.Watch
	log    zerolog.Logger
	now    func() time.Time
	epoch  string
	n      uint64
}

// dayOf gives the day of a moment, by the clock that told it.
func dayOf(t events.Time) string { return t.Std().Format(time.DateOnly) }

// tick is how often the clockwork looks round.
const tick = 15 * time.Second

func newClockwork(heads *signing, watch *door.Watch, log zerolog.Logger) *clockwork {
	return &clockwork{writer: heads.writer, floor: watch.Floor, heads: heads, watch: watch, log: log, now: time.Now, epoch: newEpoch("clock")}
}

// newEpoch names a new outbox.
func newEpoch(of string) string { return of + "-" + strings.ToLower(rand.Text()[:10]) }

// run looks round until ctx is done.
func (c *clockwork) run(ctx context.Context) {
	t := time.NewTicker(tick)
	defer t.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-t.C:
			c.round(ctx)
		}
	}
}

// round asks once about every station.
func (c *clockwork) round(ctx context.Context) {
	var stations []string
	due := false
	if err := c.writer.View(ctx, func(f *workflow.Floor) {
		for name := range f.Stations {
			stations = append(stations, name)
		}
		due = f.HeadDue() || f.Key != "" && f.SignedTo+1 < f.Seq.Frame && dayOf(f.Recorded) < dayOf(events.At(c.now()))
	}); err != nil {
		return // the hub is ending, or has said why it cannot go on
	}
	if due && c.heads.key != nil {
		if err := c.heads.sign(ctx, c.floor); err != nil && ctx.Err() == nil {
			c.log.Warn().Err(err).Msg("the head of the log was not signed")
		}
	}
	seen := c.watch.Seen()
	for _, name := range stations {
		c.ask(ctx, workflow.Board, "quiet", map[string]any{"name": name, "last_seen": events.At(seen[name].Heard)})
		c.ask(ctx, workflow.Board, "idle", map[string]any{"name": name})
		if s, ok := seen[name]; ok {
			c.ask(ctx, name, "clock-skew", map[string]any{"skew_ms": s.Skew.Milliseconds()})
		}
	}
}

// ask gives one command in the clockwork's own outbox.
func (c *clockwork) ask(ctx context.Context, station, what string, data any) {
	body, err := json.Marshal(data)
	if err != nil {
		c.log.Error().Err(err).Str("command", what).Msg("clockwork")
		return
	}
	c.n++
	a := c.floor.Ask(ctx, workflow.Command{ID: fmt.Sprintf("%s/%s/%d", station, c.epoch, c.n), Type: what, Basis: events.Keyed, Data: body})
	if err := a.Err(); err != nil && ctx.Err() == nil {
		c.log.Warn().Err(err).Str("command", what).Msg("clockwork")
	}
	if a.Outcome == workflow.Call {
		c.log.Warn().Str("call", a.Refusal.Text).Msg(a.Refusal.Next)
	}
}
