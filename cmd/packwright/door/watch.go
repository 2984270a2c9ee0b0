package door

import (
	"context"
	"strings"
	"sync"
	"time"

	"packwright/workflow"
)

// Watch passes commands on and remembers when each station was last heard of,
// and by how much its clock differs: what the floor's clockwork asks about.
type Watch struct {
	Floor
	now  func() time.Time
	mu   sync.Mutex
	seen map[string]Sighting
}

// Sighting is what a door knows of a station.
type Sighting struct {
	Heard time.Time     // when it last asked something
	Skew  time.Duration // its clock less ours, of its last command that was not from the outbox
}

// NewWatch watches what is asked of a floor.
func NewWatch(floor Floor, now func() time.Time) *Watch {
	return &Watch{Floor: floor, now: now, seen: map[string]Sighting{}}
}

// Ask passes a command on. Stations that have not joined leave no trace.
func (w *Watch) Ask(ctx context.Context, c workflow.Command) Answer {
	came := w.now()
	a := w.Floor.Ask(ctx, c)
	station, _, _ := strings.Cut(c.ID, "/")
	if !a.Answered() || a.Error != nil || a.Refusal != nil && a.Refusal.Code == "E-SES-04" {
		return a
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	s := w.seen[station]
	s.Heard = came
	if !c.Offline && !c.At.IsZero() && c.Basis != "testimony" {
		s.Skew = c.At.Std().Sub(came)
	}
	w.seen[station] = s
	return a
}

// Seen gives what is known of every station that has asked since the start.
func (w *Watch) Seen() map[string]Sighting {
	w.mu.Lock()
	defer w.mu.Unlock()
	out := make(map[string]Sighting, len(w.seen))
	for station, s := range w.seen {
		out[station] = s
	}
	return out
}
