package main

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"packwright/audit"
	"packwright/audit/follow"
	"packwright/events"
	"packwright/testdata/demo"
	"packwright/workflow"
)

// atOnce lets the stations of the day work at the same time, a quarter of an
// hour after another. An act whose time has not come, since it rests on another
// station's, is tried again; what it ends in must be what the day has.
type atOnce struct {
	f *demoFloor

	mu sync.Mutex
	n  map[string]int
}

// tries is how often an act is tried, a millisecond apart.
const tries = 3000

func (x *atOnce) act(ctx context.Context, a demo.Act) error {
	x.mu.Lock()
	x.n[a.Station]++
	id := fmt.Sprintf("%s/1/%d", a.Station, x.n[a.Station])
	if a.Recorded.After(x.f.clock.Now()) {
		x.f.clock.Set(a.Recorded)
	}
	x.mu.Unlock()
	at := a.At
	if at.IsZero() {
		at = a.Recorded
	}
	for i := 0; ; i++ {
		data := a.Data
		if a.Head != nil {
			data = a.Head(headOf(x.f.writer.Head()))
		}
		body, err := json.Marshal(data)
		if err != nil {
			return err
		}
		got, err := x.f.writer.Do(ctx, workflow.Command{ID: id, Type: a.Type, At: events.At(at), Badge: a.Badge, Offline: a.Offline, Basis: a.Basis, Matter: a.Matter, Data: body})
		if err != nil {
			return err
		}
		code := workflow.Code("")
		if got.Refusal != nil {
			code = got.Refusal.Code
		}
		if got.Outcome == a.Want && code == a.Code {
			return nil
		}
		if i == tries {
			return fmt.Errorf("%s %s %s %s: %s %s, where the day has %s %s", at.Format("15:04:05"), id, a.Type, body, got.Outcome, code, a.Want, a.Code)
		}
		time.Sleep(time.Millisecond)
	}
}

// quarter lets all stations do what they do in a quarter of an hour.
func (x *atOnce) quarter(ctx context.Context, acts []demo.Act) error {
	byStation := map[string][]demo.Act{}
	for _, a := range acts {
		byStation[a.Station] = append(byStation[a.Station], a)
	}
	errs := make(chan error, len(byStation))
	for _, list := range byStation {
		go func() {
			for _, a := range list {
				if err := x.act(ctx, a); err != nil {
					errs <- err
					return
				}
			}
			errs <- nil
		}()
	}
	var first error
	for range byStation {
		if err := <-errs; err != nil && first == nil {
			first = err
		}
	}
	return first
}

// together says how many of the acts to come may be done at once: those of a
// quarter of an hour, and none across what is said of a bench's silence or what
// sends the truck away, which would be kept too early as well.
func together(day []demo.Act) int {
	alone := func(a demo.Act) bool { return slices.Contains([]string{"quiet", "caught-up", "close-load"}, a.Type) }
	if alone(day[0]) {
		return 1
	}
	end := day[0].Recorded.Truncate(15 * time.Minute).Add(15 * time.Minute)
	if n := slices.IndexFunc(day, func(a demo.Act) bool { return alone(a) || !a.Recorded.Before(end) }); n > 0 {
		return n
	}
	return len(day)
}

// TestDemoAtOnce compares what the cartons hold at the end, the lots' books and
// the laws with those of the day played in order.
func TestDemoAtOnce(t *testing.T) {
	var out strings.Builder
	d := newDesk(t.Context(), &streams{strings.NewReader(""), &out, os.Stderr}, &settings{Log: "warn"})
	f, err := openDemo(d, t.TempDir(), "")
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := f.Close(); err != nil {
			t.Error(err)
		}
	}()
	x := &atOnce{f: f, n: map[string]int{}}
	day := demo.Day()
	for len(day) > 0 {
		n := together(day)
		if err := x.quarter(t.Context(), day[:n]); err != nil {
			t.Fatal(err)
		}
		day = day[n:]
	}
	v, err := follow.Verify(t.Context(), f.log, nil)
	if err != nil || !v.OK() {
		t.Errorf("%v %v", err, v.Breaches)
	}
	a := newAuditor(f.log)
	if err := a.read(t.Context()); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(endOf(t, orderly(t)), endOf(t, a)); diff != "" {
		t.Errorf("in order and at once end differently (-order +once):\n%s", diff)
	}
}

// orderly is the auditor of the day that was played in order.
func orderly(t *testing.T) *auditor {
	d := newDesk(t.Context(), &streams{strings.NewReader(""), os.Stdout, os.Stderr}, &settings{Data: playedDay(t), Log: "warn"})
	a, err := d.readHere("the test")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := a.log.Close(); err != nil {
			t.Error(err)
		}
	})
	return a
}

// endOf says where everything is, without saying when it came there.
func endOf(t *testing.T, a *auditor) (out []string) {
	err := a.look(t.Context(), "", func(v view) error {
		for _, c := range v.Cartons() {
			for _, l := range c.Lines {
				slices.SortFunc(l.Lots, func(a, b audit.LotPart) int {
					return strings.Compare(a.Lot+fmt.Sprint(a.Runs), b.Lot+fmt.Sprint(b.Runs))
				})
				out = append(out, fmt.Sprint(c.Carton, " ", c.State, " ", c.Seal, " ", c.Load, " ", l.Item, " ", l.Owner, " ", l.Planned, " ", l.Scanned, " ", *l.Counted, " ", l.Lots))
			}
		}
		for _, b := range v.Balances() {
			out = append(out, fmt.Sprint(b.Lot, " ", b.Item, " ", b.Received, " ", b.At))
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}
