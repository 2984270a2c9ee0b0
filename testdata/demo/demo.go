// Package demo is one invented day on an invented floor, Lantern Yard, as the
// commands its people give: three benches, one supervisor, one owner, one
// client, 240 pieces, fourteen cartons and every common accident. Nothing in it
// is random, and nothing writes an event: each command goes through the gates.
//
// [Day] gives the commands in the order they reach the floor; [Play] drives them
// through any door and demands the outcome that each names.
//
// # What differs from the day as first told
//
//   - C-07's mismatch X-02 is raised when the weighing alarms (17:29:53), as X-01
//     was on C-03; the blind count a minute later adds its symptom SHORT.
//   - FINISH CARTON is an act of its own, so that the blindness of the count has a
//     beginning in the log.
//   - Pre-numbered label rolls: the ranges of marks are asked for by number, since
//     the runs do not open in the order of their marks.
package demo

import (
	"cmp"
	"context"
	_ "embed"
	"encoding/json"
	"fmt"
	"slices"
	"sync/atomic"
	"time"

	"packwright/events"
	"packwright/workflow"
)

// The floor.
const (
	Floor    = "lantern-yard"
	Owner    = "odile"
	Currency = "EUR"
	Epoch    = "lantern-yard-2031"
)

// Items, Rules4 and Rules5 are the day's catalogue and rulebooks as files.
var (
	//go:embed items.yaml
	Items []byte
	//go:embed rulebook-r4.yaml
	Rules4 []byte
	//go:embed rulebook-r5.yaml
	Rules5 []byte
	//go:embed policy.yaml
	Policy []byte
)

// Act is one command of the day and what must come of it.
type Act struct {
	Recorded time.Time // when it reaches the floor
	At       time.Time // when it was done; zero: then
	Station  string
	Badge    string
	Type     string
	Data     map[string]any
	Matter   string // the mismatch it is done for
	Offline  bool
	Basis    events.Basis
	Want     workflow.Outcome
	Code     workflow.Code             // when not simply kept
	Head     func(Head) map[string]any // fills Data from the log's head, when set
}

// Head is how far the log has come.
type Head struct {
	Seq  events.Seq
	Size int64 // events
	Root string
}

// Clock is the day's clock; the writer of a demo floor reads Now. Its methods may
// be called by many goroutines.
type Clock struct{ now atomic.Pointer[time.Time] }

// Now gives the moment of the act being played, zero before the first.
func (c *Clock) Now() time.Time {
	if t := c.now.Load(); t != nil {
		return *t
	}
	return time.Time{}
}

// Set moves the clock to the moment of an act.
func (c *Clock) Set(t time.Time) { c.now.Store(&t) }

// Door is any way to give a command: an engine, a bus, a socket.
type Door interface {
	Do(ctx context.Context, c workflow.Command) (workflow.Outcome, workflow.Code, error)
	Head(ctx context.Context) (Head, error)
}

// Play drives acts through a door, setting the clock to each. It stops at the
// first act that ends otherwise than it should and says how.
func Play(ctx context.Context, acts []Act, clock *Clock, door Door) error {
	n := map[string]int{}
	for _, a := range acts {
		clock.Set(a.Recorded)
		n[a.Station]++
		c, err := a.command(ctx, n[a.Station], door)
		if err != nil {
			return err
		}
		got, code, err := door.Do(ctx, c)
		if err != nil {
			return fmt.Errorf("%s %s %s: %w", a.Recorded.Format("15:04:05"), c.ID, a.Type, err)
		}
		if got != a.Want || code != a.Code {
			return fmt.Errorf("%s %s %s %s: %s %s, where the day has %s %s", a.Recorded.Format("15:04:05"), c.ID, a.Type, c.Data, got, code, a.Want, a.Code)
		}
	}
	return nil
}

func (a Act) command(ctx context.Context, n int, door Door) (workflow.Command, error) {
	data := a.Data
	if a.Head != nil {
		h, err := door.Head(ctx)
		if err != nil {
			return workflow.Command{}, err
		}
		data = a.Head(h)
	}
	body, err := json.Marshal(data)
	if err != nil {
		return workflow.Command{}, err
	}
	at := a.At
	if at.IsZero() {
		at = a.Recorded
	}
	return workflow.Command{ID: fmt.Sprintf("%s/1/%d", a.Station, n), Type: a.Type, At: events.At(at), Badge: a.Badge,
		Offline: a.Offline, Basis: a.Basis, Matter: a.Matter, Data: body}, nil
}

// day gathers acts while they are told person by person.
type day struct{ acts []Act }

// Day gives all acts, claims of weeks later included, in the order they are recorded.
func Day() []Act {
	d := &day{}
	d.morning()
	d.intake()
	d.triage()
	d.runs()
	d.plan()
	d.cartons()
	d.swappedPair()
	d.shortCarton()
	d.leaving()
	d.claims()
	slices.SortStableFunc(d.acts, func(a, b Act) int { return cmp.Compare(a.Recorded.UnixNano(), b.Recorded.UnixNano()) })
	return d.acts
}

// Until gives the acts recorded up to a moment.
func Until(acts []Act, t time.Time) []Act {
	i := slices.IndexFunc(acts, func(a Act) bool { return a.Recorded.After(t) })
	if i < 0 {
		return acts
	}
	return acts[:i]
}

// who is a badge at a station.
type who struct{ station, badge string }

var (
	odile   = who{"BOARD", "odile"} // signs in at the board first, on her phone later
	maren   = who{"BOARD", "maren"}
	tobi    = who{"ST-1", "tobi"}
	ife     = who{"ST-2", "ife"}
	sunniva = who{"ST-3", "sunniva"}
)

// at a station other than the usual one.
func (w who) at(station string) who { return who{station, w.badge} }

// d is a command's data.
type d = map[string]any

// do adds an act that must be kept.
func (x *day) do(t time.Time, w who, command string, data d) *Act {
	x.acts = append(x.acts, Act{Recorded: t, Station: w.station, Badge: w.badge, Type: command, Data: data, Want: workflow.Kept})
	return &x.acts[len(x.acts)-1]
}

// ends says how an act ends when not simply kept.
func (a *Act) ends(o workflow.Outcome, code workflow.Code) *Act {
	a.Want, a.Code = o, code
	return a
}

// forMatter says which mismatch an act is done for.
func (a *Act) forMatter(x string) *Act {
	a.Matter = x
	return a
}

// clock reads 15:04 or 15:04:05 on the day.
func clock(s string) time.Time {
	layout := "15:04:05"
	if len(s) == 5 {
		layout = "15:04"
	}
	t, err := time.Parse(layout, s)
	if err != nil {
		panic(err)
	}
	return time.Date(2031, 3, 4, t.Hour(), t.Minute(), t.Second(), 0, time.UTC)
}

func seconds(n int) time.Duration { return time.Duration(n) * time.Second }
