package door

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/rs/zerolog"

	"packwright/events"
	"packwright/events/natslog"
	"packwright/prep"
	"packwright/workflow"
	"packwright/workflow/engine"
)

// stub is a floor that answers as it is told.
type stub func(context.Context, workflow.Command) Answer

func (s stub) Ask(ctx context.Context, c workflow.Command) Answer { return s(ctx, c) }
func (s stub) Close() error                                       { return nil }

// kept answers everything.
func kept(_ context.Context, c workflow.Command) Answer {
	return Answer{ID: c.ID, Outcome: workflow.Kept, Seq: &Place{7, 1}, Root: "ab", Frame: 7}
}

// TestTrouble: whatever goes wrong in the hub has a status, and on the other side
// of a door is the same kind of error again.
func TestTrouble(t *testing.T) {
	for _, c := range []struct {
		err      error
		status   int
		answered bool
		is       error
	}{
		{fmt.Errorf("x: %w", prep.Input("what", "do")), 400, true, nil},
		{fmt.Errorf("x: %w", engine.ErrBusy), 503, false, events.ErrUnreachable},
		{fmt.Errorf("x: %w", events.ErrUnreachable), 503, false, events.ErrUnreachable},
		{fmt.Errorf("x: %w", context.DeadlineExceeded), 503, false, events.ErrUnreachable},
		{fmt.Errorf("x: %w", events.ErrFenced), 503, false, events.ErrFenced},
		{fmt.Errorf("x: %w", events.ErrCorrupt), 500, false, events.ErrCorrupt},
		{errors.Join(events.ErrUnreachable, events.ErrCorrupt), 500, false, events.ErrCorrupt},
		{fmt.Errorf("%w: C-99", ErrNothing), 404, false, ErrNothing},
		{errors.New("some fault"), 500, false, nil},
	} {
		a := Troubled("ST-1/a/1", c.err)
		b, err := json.Marshal(&a)
		if err != nil {
			t.Fatal(err)
		}
		back := readAnswer("ST-1/a/1", b)
		if back.Status() != c.status || back.Answered() != c.answered {
			t.Errorf("%v: status %d, answered %t; %s", c.err, back.Status(), back.Answered(), b)
		}
		got := back.Err()
		if got == nil || c.is != nil && !errors.Is(got, c.is) {
			t.Errorf("%v came back as %v", c.err, got)
		}
		var in *prep.InputError
		if errors.As(c.err, &in) != errors.As(got, &in) {
			t.Errorf("%v came back as %T", c.err, got)
		}
	}
	for outcome, status := range map[workflow.Outcome]int{workflow.Kept: 200, workflow.Already: 200, workflow.Call: 200, workflow.No: 409} {
		a := Answer{Outcome: outcome}
		if outcome == workflow.No {
			a.Refusal = workflow.DiskFull()
		}
		if a.Status() != status || (a.Err() != nil) != (outcome == workflow.No) {
			t.Errorf("%s: %d, %v", outcome, a.Status(), a.Err())
		}
	}
	if a := (Answer{Outcome: workflow.No, Refusal: workflow.Undecided()}); a.Status() != 500 {
		t.Errorf("undecided: %d", a.Status())
	}
	if a := readAnswer("x", []byte("<html>")); a.Answered() || a.Err() == nil {
		t.Errorf("a page was taken for an answer: %+v", a)
	}
}

// TestParseCommand: what cannot be read is refused with its place.
func TestParseCommand(t *testing.T) {
	for _, c := range []struct{ body, says, id string }{
		{`{"id":"ST-1/a/1","type":"place","badge":"tobi","at":"2031-03-04T13:51:24Z","held":7,"data":{"q":1}}`, "", "ST-1/a/1"},
		{`{"id":"ST-1/a/1","type":"place"} {"id":"ST-1/a/2"}`, "1:33: the command cannot be read: something follows", "ST-1/a/1"},
		{`{"id":"ST-1/a/1","typ":"place"}`, `unknown field "typ"`, "ST-1/a/1"},
		{`{"id":"ST-1/a/1","type":7}`, "type cannot be a number", "ST-1/a/1"},
		{`{"id":"ST-1/a/1","type":"place","at":"noon"}`, `"noon" is not a moment`, "ST-1/a/1"},
		{`{"id":"ST-1/a/1",` + "\n" + ` "type":place}`, "2:9: the command cannot be read", "ST-1/a/1"},
		{`{"id":"ST-1/a/1","type":"pl`, "it breaks off", "ST-1/a/1"},
		{`{"type":"place","id":"é/a/1","data":{x}}`, "1:38: the command", "é/a/1"},
		{`{"id":"ST-1","type":"place"}`, "is not station/epoch/n", "ST-1"},
		{`[]`, "cannot be a", ""},
		{``, "it breaks off", ""},
		{`null`, "is not station/epoch/n", ""},
		{`{"id":"` + strings.Repeat("x", MaxCommand) + `"}`, "split it", ""},
	} {
		got, err := ParseCommand([]byte(c.body))
		var in *prep.InputError
		switch {
		case c.says == "" && (err != nil || got.ID != c.id || got.Held != 7 || got.At.IsZero()):
			t.Errorf("%.80s: %+v, %v", c.body, got, err)
		case c.says != "" && (!errors.As(err, &in) || !strings.Contains(err.Error(), c.says)):
			t.Errorf("%.80s: %v, want %s", c.body, err, c.says)
		}
		if id := IDOf([]byte(c.body)); id != c.id {
			t.Errorf("%.80s: id %q, want %q", c.body, id, c.id)
		}
	}
}

func FuzzParseCommand(f *testing.F) {
	f.Add([]byte(`{"id":"ST-1/a/1","type":"place","data":{"q":1}}`))
	f.Add([]byte("{\"id\":\"ST-1/a/1\",\n\"type\":"))
	f.Fuzz(func(t *testing.T, b []byte) {
		c, err := ParseCommand(b)
		var in *prep.InputError
		if err != nil && !errors.As(err, &in) {
			t.Fatalf("%T: %v", err, err)
		}
		if id := IDOf(b); err == nil && id != c.ID && len(c.ID) <= 80 && strings.Count(string(b), `id`) == 1 {
			t.Fatalf("id %q, read %q", id, c.ID)
		}
	})
}

// bus opens a bus door on a log of its own, and a connection for a bench.
func bus(t *testing.T, floor Floor) (*Bus, *nats.Conn, *natslog.Log) {
	t.Helper()
	l, err := natslog.Open(t.Context(), natslog.Config{Floor: "f", Dir: t.TempDir(), Listen: "127.0.0.1:0"})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { l.Close() })
	b, err := ServeBus(l.Conn(), "f", floor, zerolog.Nop())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { b.Close() })
	bench, err := nats.Connect(l.BenchURL())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(bench.Close)
	return b, bench, l
}

func request(t *testing.T, bench *nats.Conn, station, body string) (Answer, nats.Header) {
	t.Helper()
	m, err := bench.Request("floor.f.do."+station, []byte(body), 10*time.Second)
	if err != nil {
		t.Fatal(err)
	}
	return readAnswer("", m.Data), m.Header
}

// TestBus: a command on its station's subject is answered, on another's it is not
// looked at, and trouble stands in the service's headers.
func TestBus(t *testing.T) {
	var asked atomic.Int64
	_, bench, _ := bus(t, stub(func(ctx context.Context, c workflow.Command) Answer {
		asked.Add(1)
		return kept(ctx, c)
	}))
	a, head := request(t, bench, "ST-1", `{"id":"ST-1/a/1","type":"place"}`)
	if a.Outcome != workflow.Kept || *a.Seq != (Place{7, 1}) || len(head) != 0 {
		t.Errorf("%+v %v", a, head)
	}
	for _, body := range []string{`{"id":"ST-2/a/1","type":"place"}`, `{"id":"ST-1/a/2",`, `what`} {
		a, head := request(t, bench, "ST-1", body)
		if a.Outcome != workflow.No || a.Error == nil || a.Error.Kind != TroubleInput || head.Get("Nats-Service-Error-Code") != "400" || head.Get("Nats-Service-Error") == "" {
			t.Errorf("%s: %+v %v", body, a, head)
		}
	}
	if asked.Load() != 1 {
		t.Errorf("the floor was asked %d times", asked.Load())
	}
}

// TestBusIsBusy: more commands than the door holds are sent back at once, and
// those it holds are all answered when it closes.
func TestBusIsBusy(t *testing.T) {
	hold := make(chan struct{})
	b, bench, _ := bus(t, stub(func(ctx context.Context, c workflow.Command) Answer {
		<-hold
		return kept(ctx, c)
	}))
	inbox := bench.NewInbox()
	answers, err := bench.SubscribeSync(inbox)
	if err != nil {
		t.Fatal(err)
	}
	const more = 5
	for n := 1; n <= busCommands+more; n++ {
		station := fmt.Sprintf("ST-%d", n%(2*busCommands/laneCommands)) // no lane is full
		if err := bench.PublishRequest("floor.f.do."+station, inbox, fmt.Appendf(nil, `{"id":"%s/a/%d","type":"place"}`, station, n)); err != nil {
			t.Fatal(err)
		}
	}
	next := func() Answer {
		t.Helper()
		m, err := answers.NextMsg(10 * time.Second)
		if err != nil {
			t.Fatal(err)
		}
		return readAnswer("", m.Data)
	}
	for range more {
		if a := next(); a.Answered() || a.Refusal == nil || a.Refusal.Code != "E-SYS-01" || a.ID == "" {
			t.Errorf("%+v", a)
		}
	}
	closed := make(chan error, 1)
	go func() { closed <- b.Close() }()
	select {
	case <-closed:
		t.Error("the door closed on commands that it had taken")
	case <-time.After(50 * time.Millisecond):
	}
	close(hold)
	for range busCommands {
		if a := next(); a.Outcome != workflow.Kept {
			t.Errorf("%+v", a)
		}
	}
	if err := <-closed; err != nil {
		t.Error(err)
	}
	if _, err := bench.Request("floor.f.do.ST-1", []byte(`{"id":"ST-1/a/9999","type":"place"}`), time.Second); !errors.Is(err, nats.ErrNoResponders) {
		t.Errorf("a closed door: %v", err)
	}
}

// TestBusClient: the client asks again under the same id until it is answered.
func TestBusClient(t *testing.T) {
	var tries atomic.Int64
	b, _, l := bus(t, stub(func(ctx context.Context, c workflow.Command) Answer {
		if tries.Add(1) < 4 {
			return Troubled(c.ID, engine.ErrBusy)
		}
		return kept(ctx, c)
	}))
	client, err := DialBus(l.BenchURL(), "f", 10*time.Second)
	if err != nil {
		t.Fatal(err)
	}
	defer client.Close()
	c := workflow.Command{ID: "ST-1/a/1", Type: "place"}
	if a := client.Ask(t.Context(), c); a.Outcome != workflow.Kept || tries.Load() != 4 {
		t.Errorf("%+v after %d tries", a, tries.Load())
	}
	if err := b.Close(); err != nil {
		t.Fatal(err)
	}
	client.patience = 300 * time.Millisecond
	if a := client.Ask(t.Context(), c); a.Answered() || !errors.Is(a.Err(), events.ErrUnreachable) {
		t.Errorf("nobody answers: %+v", a)
	}
	if _, err := DialBus("nats://127.0.0.1:1", "f", time.Second); !errors.Is(err, events.ErrUnreachable) {
		t.Errorf("no bus: %v", err)
	}
}

// TestRepublisherNeverBlocks: events that no connection takes are left out.
func TestRepublisherNeverBlocks(t *testing.T) {
	_, _, l := bus(t, stub(kept))
	r := NewRepublisher(l.Conn(), "f", zerolog.Nop())
	evs := make([]events.Event, 1)
	evs[0] = events.Event{Seq: events.Seq{Frame: 1}, Recorded: events.At(time.Unix(1, 0)), Data: &events.ToteCleared{Tote: "T-01"}}
	l.Conn().Close()
	for range republishFrames + 10 {
		r.Durable(evs)
	}
	r.close.Do(func() { close(r.frames) })
	<-r.ended
	if r.LeftOut() != republishFrames+10 {
		t.Errorf("%d events were left out", r.LeftOut())
	}
}

// TestWatch: a station is seen when it is answered; its clock when it was there.
func TestWatch(t *testing.T) {
	now := time.Date(2031, 3, 4, 14, 0, 0, 0, time.UTC)
	answer := Answer{Outcome: workflow.Kept}
	w := NewWatch(stub(func(context.Context, workflow.Command) Answer { return answer }), func() time.Time { return now })
	ask := func(id string, at time.Time, offline bool) {
		w.Ask(t.Context(), workflow.Command{ID: id, At: events.At(at), Offline: offline})
	}
	ask("ST-1/a/1", now.Add(3*time.Minute), false)
	if got := w.Seen()["ST-1"]; got.Skew != 3*time.Minute || !got.Heard.Equal(now) {
		t.Errorf("%+v", got)
	}
	now = now.Add(time.Hour)
	ask("ST-1/a/2", now.Add(-30*time.Minute), true)
	if got := w.Seen()["ST-1"]; got.Skew != 3*time.Minute || !got.Heard.Equal(now) {
		t.Errorf("from the outbox: %+v", got)
	}
	answer = Answer{Outcome: workflow.No, Refusal: &workflow.Refusal{Code: "E-SES-04"}}
	ask("ST-9/a/1", now, false)
	answer = Troubled("x", events.ErrUnreachable)
	ask("ST-8/a/1", now, false)
	if got := w.Seen(); len(got) != 1 {
		t.Errorf("%v", got)
	}
}
