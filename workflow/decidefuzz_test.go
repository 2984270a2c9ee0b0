package workflow_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"testing"
	"time"

	"packwright/events"
	"packwright/prep"
	"packwright/testdata/demo"
	"packwright/workflow"
)

// busy gives the demo's floor as it stood at a moment of its day, and what was
// asked until then.
func busy(tb testing.TB, until time.Time) (*workflow.Floor, []workflow.Command, events.Time) {
	tb.Helper()
	policy, err := workflow.ParsePolicy("policy.yaml", demo.Policy)
	if err != nil {
		tb.Fatal(err)
	}
	f := workflow.NewFloor(policy)
	var asked []workflow.Command
	var now events.Time
	for n, a := range demo.Until(demo.Day(), until) {
		if a.Head != nil {
			continue
		}
		body, err := json.Marshal(a.Data)
		if err != nil {
			tb.Fatal(err)
		}
		c := workflow.Command{ID: fmt.Sprintf("%s/day/%d", a.Station, n+1), Type: a.Type, Badge: a.Badge, Data: body, Matter: a.Matter, Offline: a.Offline, Basis: a.Basis}
		now = events.Max(now, events.At(a.Recorded))
		dec, err := workflow.Decide(f, &c, now)
		if err != nil {
			tb.Fatalf("%s: %v", c.ID, err)
		}
		for i := range dec.Events {
			dec.Events[i].Seq = events.Seq{Frame: uint64(n + 1), Index: i}
			if err := f.Apply(&dec.Events[i]); err != nil {
				tb.Fatal(err)
			}
		}
		asked = append(asked, c)
	}
	return f, asked, now
}

// inTime decides, and fails when that takes longer than any bench would wait: one
// command must not hold up all others.
func inTime(t *testing.T, f *workflow.Floor, c *workflow.Command, now events.Time) (dec workflow.Decision, err error) {
	done := make(chan struct{})
	go func() {
		defer close(done)
		dec, err = workflow.Decide(f, c, now)
	}()
	select {
	case <-done:
		return dec, err
	case <-time.After(3 * time.Second):
		t.Fatalf("%s %.200s is not decided in time", c.Type, c.Data)
		return dec, err
	}
}

// FuzzDecide gives a floor in the middle of its day commands with any data, from
// anybody: it decides, or says what cannot be read; it never panics, changes
// nothing, and what it would keep can be written and read again.
func FuzzDecide(f *testing.F) {
	floor, asked, now := busy(f, time.Date(2031, 3, 4, 16, 30, 0, 0, time.UTC))
	if len(floor.Cartons) < 5 {
		f.Fatalf("%d cartons: the floor is not busy", len(floor.Cartons))
	}
	for _, c := range asked {
		f.Add(c.Type, "ST-1", c.Badge, string(c.Data), c.Matter, c.Offline)
	}
	for _, c := range asked { // and as if it were another command
		f.Add("accept-loss", "BOARD", "odile", string(c.Data), "X-01", false)
	}
	before := floor.Ledger.Digest()
	n := 0
	f.Fuzz(func(t *testing.T, kind, station, badge, data, matter string, offline bool) {
		n++
		c := workflow.Command{ID: fmt.Sprintf("%s/fuzz/%d", station, n), Type: kind, Badge: badge, Data: json.RawMessage(data), Matter: matter, Offline: offline}
		dec, err := inTime(t, floor, &c, now)
		var in *prep.InputError
		switch {
		case err != nil && (!errors.As(err, &in) || in.What == "" || in.Do == ""):
			t.Fatalf("not a sentence that says what to do: %v", err)
		case err == nil && dec.Outcome == "":
			t.Fatalf("%s: no outcome", kind)
		case floor.Ledger.Digest() != before:
			t.Fatalf("%s moved goods while it was decided", kind)
		}
		for i := range dec.Events {
			line, err := events.Encode(nil, &dec.Events[i])
			if err != nil {
				t.Fatalf("%s %s: %v", kind, data, err)
			}
			if _, err := events.Decode(line); err != nil {
				t.Fatalf("%s %s: %v, from its own line %s", kind, data, err, line)
			}
		}
	})
}
