package engine

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	json "github.com/goccy/go-json"
	"github.com/rs/zerolog"

	"packwright/events"
	"packwright/events/memlog"
	"packwright/events/proof"
	"packwright/workflow"
)

// tick is a clock that goes a second a look.
func tick() func() time.Time {
	var mu sync.Mutex
	t := time.Date(2031, 3, 4, 8, 0, 0, 0, time.UTC)
	return func() time.Time {
		mu.Lock()
		defer mu.Unlock()
		t = t.Add(time.Second)
		return t
	}
}

func open(t testing.TB, log events.Log, more func(*Config)) *Engine {
	t.Helper()
	cfg := Config{Log: log, Floor: "test", Now: tick(), Logger: zerolog.Nop()}
	if more != nil {
		more(&cfg)
	}
	e, err := Open(t.Context(), cfg)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = e.Close() })
	return e
}

// cmd makes a command; words are key, value, key, value.
func cmd(id, badge, kind string, words ...any) workflow.Command {
	data := map[string]any{}
	for i := 0; i+1 < len(words); i += 2 {
		data[words[i].(string)] = words[i+1]
	}
	b, _ := json.Marshal(data)
	return workflow.Command{ID: id, Badge: badge, Type: kind, Data: b}
}

// founding is the shortest way to a floor on which lots arrive.
func founding() []workflow.Command {
	return []workflow.Command{
		cmd("BOARD/1/1", "", "found", "floor", "test", "owner", "odile", "currency", "EUR", "epoch", "e"),
		cmd("BOARD/1/2", "odile", "sign-in"),
		cmd("BOARD/1/3", "odile", "join", "name", "ST-1"),
		cmd("BOARD/1/4", "odile", "join", "name", "ST-2"),
		cmd("BOARD/1/5", "odile", "enrol-badge", "badge", "ife", "roles", []string{"packer"}),
		cmd("BOARD/1/6", "odile", "register-item", "item", "TRY", "name", "tray", "codes", []string{"9520000010034"}, "trace", "class", "unit_g", 355, "unit_sd_g", 5, "value_minor", 1500),
	}
}

func arrivals(n int) (out []workflow.Command) {
	for i := range n {
		lot := fmt.Sprintf("L-%03d", i)
		out = append(out,
			cmd(fmt.Sprintf("BOARD/2/%d", 2*i+1), "odile", "announce", "lot", lot, "item", "TRY", "owner", "house", "qty", 10),
			cmd(fmt.Sprintf("BOARD/2/%d", 2*i+2), "odile", "receive", "lot", lot, "tote", "T-"+lot, "qty", 10))
	}
	return out
}

// insist gives a command until it is answered, as a bench's outbox does.
func insist(t *testing.T, e *Engine, c workflow.Command) Answer {
	t.Helper()
	for try := 0; ; try++ {
		a, err := e.Do(t.Context(), c)
		if err == nil {
			return a
		}
		if !errors.Is(err, events.ErrUnreachable) && !errors.Is(err, ErrBusy) || try > 50 {
			t.Fatal(c.ID, err)
		}
	}
}

// causes counts the frames each command's events stand in, and checks the whole log.
func causes(t *testing.T, log events.Log) map[string]int {
	t.Helper()
	floor, chain := workflow.NewFloor(nil), proof.Chain{Floor: "test", Next: 1}
	if err := Replay(t.Context(), log, floor, &chain); err != nil {
		t.Fatal(err)
	}
	n := map[string]int{}
	err := log.Scan(t.Context(), 1, func(seq uint64, frame []byte) error {
		_, lines, err := events.SplitFrame(frame)
		if err != nil {
			return err
		}
		evs, err := events.DecodeLines(seq, lines)
		for _, e := range evs {
			if e.Sum != "" {
				n[e.Cause]++
			}
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// TestLostAnswers loses each append in turn, before it is stored and after, and
// demands that every command ends in the log exactly once.
func TestLostAnswers(t *testing.T) {
	all := append(founding(), arrivals(3)...)
	var want events.Digest
	for n := 0; n <= len(all); n++ {
		for _, when := range []memlog.When{memlog.Before, memlog.After} {
			log := memlog.New()
			log.Fault = memlog.At(n, when, memlog.ErrLost)
			e := open(t, log, nil)
			for _, c := range all {
				if a := insist(t, e, c); a.Outcome == workflow.No {
					t.Fatalf("append %d lost: %s refused: %v", n, c.ID, a.Refusal)
				}
			}
			once(t, log, all)
			got := e.floor.Ledger.Digest()
			if want == (events.Digest{}) {
				want = got
			}
			if got != want {
				t.Fatalf("append %d lost at %v: cells differ", n, when)
			}
		}
	}
}

func once(t *testing.T, log events.Log, cmds []workflow.Command) {
	t.Helper()
	n := causes(t, log)
	for _, c := range cmds {
		if n[c.ID] != 1 {
			t.Fatalf("%s stands %d times in the log", c.ID, n[c.ID])
		}
	}
}

// TestNoGhosts lets appends fail for good while many ask: what was thrown away
// must leave no trace, neither on the floor nor in an answer.
func TestNoGhosts(t *testing.T) {
	log := memlog.New()
	fails := func(n int, when memlog.When) error {
		if when == memlog.Before && n > 12 && n%9 < 7 { // long enough to outlast the resends
			return memlog.ErrFull
		}
		return nil
	}
	e := open(t, log, nil)
	for _, c := range founding() {
		insist(t, e, c)
	}
	log.Fault = fails
	cmds := arrivals(30)
	var wg sync.WaitGroup
	for i := 0; i < len(cmds); i += 2 {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for _, c := range cmds[i : i+2] {
				if a := insist(t, e, c); a.Outcome == workflow.No {
					t.Errorf("%s: %v", c.ID, a.Refusal)
				}
			}
		}()
	}
	wg.Wait()
	once(t, log, cmds)
}

// TestOneOfTwo lets one badge sign in at two benches at once: within one frame
// and across two, exactly one is kept.
func TestOneOfTwo(t *testing.T) {
	for round := range 20 {
		log := memlog.New()
		hold := make(chan struct{})
		e := open(t, log, nil)
		for _, c := range founding() {
			insist(t, e, c)
		}
		if round%2 == 1 { // the first stays in flight while the second is judged
			log.Fault = func(_ int, when memlog.When) error {
				if when == memlog.Before {
					<-hold
				}
				return nil
			}
		}
		got := make(chan workflow.Outcome, 2)
		for _, s := range []string{"ST-1", "ST-2"} {
			go func() {
				a, err := e.Do(t.Context(), cmd(s+"/1/1", "ife", "sign-in"))
				if err != nil {
					t.Error(err)
				}
				got <- a.Outcome
			}()
		}
		time.Sleep(time.Millisecond)
		select {
		case o := <-got:
			if round%2 == 1 {
				t.Fatalf("%s was answered before anything was durable", o)
			}
			got <- o
		default:
		}
		close(hold)
		if a, b := <-got, <-got; (a == workflow.Kept) == (b == workflow.Kept) {
			t.Fatalf("round %d: %s and %s", round, a, b)
		}
	}
}

func TestOnceForEver(t *testing.T) {
	log := memlog.New()
	e := open(t, log, nil)
	all := append(founding(), arrivals(200)...) // far beyond what is remembered in full
	for _, c := range all {
		insist(t, e, c)
	}
	before := e.Head()
	for _, c := range all {
		if a := insist(t, e, c); a.Outcome != workflow.Already {
			t.Fatalf("%s again: %s %v", c.ID, a.Outcome, a.Refusal)
		}
	}
	if e.Head() != before {
		t.Error("repeating the day changed the log")
	}
	last := all[len(all)-1]
	last.Data = []byte(`{"lot":"L-001","tote":"T-9","qty":1}`)
	if a := insist(t, e, last); a.Refusal == nil || a.Refusal.Code != "E-SYS-04" {
		t.Errorf("one id, two bodies: %+v", a)
	}
	held := cmd("BOARD/3/1", "odile", "join", "name", "ST-9")
	held.Held = before.Frame + 1
	if a := insist(t, e, held); a.Refusal == nil || a.Refusal.Code != "E-SYS-05" {
		t.Errorf("a bench told of more than the log holds: %+v", a)
	}
}

func TestSnapshotIsTheLog(t *testing.T) {
	dir := t.TempDir()
	log := memlog.New()
	with := func(c *Config) { c.Snapshot, c.Every = dir, 17 }
	e := open(t, log, with)
	cmds := append(founding(), arrivals(40)...)
	for i, c := range cmds {
		insist(t, e, c)
		if i%30 == 29 {
			if err := e.Close(); err != nil {
				t.Fatal(err)
			}
			e = open(t, log, with)
		}
	}
	live, err := Digest(e.floor)
	if err != nil {
		t.Fatal(err)
	}
	e.Close()
	fresh := open(t, log, nil) // no snapshot: from event 1
	if got, _ := Digest(fresh.floor); got != live {
		t.Errorf("from event 1: %s, live with snapshots: %s", got, live)
	}
	if e = open(t, log, with); e.snapped == 0 {
		t.Error("the snapshot was not used")
	}
	if got, _ := Digest(e.floor); got != live {
		t.Errorf("from snapshot: %s, live: %s", got, live)
	}
	if _, err := filepath.Glob(filepath.Join(dir, "*")); err != nil {
		t.Fatal(err)
	}
}

// TestOlderLog: a log shorter than the snapshot has lost what it acknowledged.
func TestOlderLog(t *testing.T) {
	dir := t.TempDir()
	log := memlog.New()
	with := func(c *Config) { c.Snapshot = dir }
	e := open(t, log, with)
	for _, c := range founding() {
		insist(t, e, c)
	}
	e.Close()
	older := memlog.New(log.Frames()[:3]...)
	_, err := Open(t.Context(), Config{Log: older, Floor: "test", Now: tick(), Snapshot: dir, Logger: zerolog.Nop()})
	if !errors.Is(err, events.ErrCorrupt) {
		t.Fatalf("an older log was put back: %v", err)
	}
}

func TestFencedStops(t *testing.T) {
	log := memlog.New()
	e := open(t, log, nil)
	for _, c := range founding() {
		insist(t, e, c)
	}
	last, _ := log.Last(t.Context())
	if err := log.Append(t.Context(), last, []byte("{}\n{}\n")); err != nil {
		t.Fatal(err)
	}
	if _, err := e.Do(t.Context(), arrivals(1)[0]); !errors.Is(err, events.ErrFenced) {
		t.Fatalf("after an intruder's frame: %v", err)
	}
	if _, err := e.Do(t.Context(), arrivals(1)[0]); !errors.Is(err, events.ErrFenced) {
		t.Fatalf("a stopped writer must say so: %v", err)
	}
}

func TestPanicIsOneCommands(t *testing.T) {
	log := memlog.New()
	var told []string
	e := open(t, log, func(c *Config) {
		c.Panicked = func(c workflow.Command, what any, stack []byte) { told = append(told, c.ID+fmt.Sprint(what)) }
	})
	e.pure = func(f *workflow.Floor, c *workflow.Command, now events.Time) (workflow.Decision, error) {
		if strings.HasPrefix(c.ID, "BAD/") {
			panic("boom")
		}
		return workflow.Decide(f, c, now)
	}
	insist(t, e, founding()[0])
	if a := insist(t, e, cmd("BAD/1/1", "", "found")); a.Refusal == nil || a.Refusal.Code != "E-SYS-06" {
		t.Fatalf("%+v", a)
	}
	if a := insist(t, e, founding()[1]); a.Outcome != workflow.Kept {
		t.Fatalf("after a panic: %+v", a)
	}
	if len(told) != 1 || told[0] != "BAD/1/1boom" {
		t.Errorf("told of %v", told)
	}
}

func TestBusyAtOnce(t *testing.T) {
	log := memlog.New()
	hold := make(chan struct{})
	e := open(t, log, nil)
	insist(t, e, founding()[0])
	log.Fault = func(int, memlog.When) error { <-hold; return nil }
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	busy := make(chan error, 4*QueueLength)
	for i := range 4 * QueueLength {
		go func() {
			_, err := e.Do(ctx, cmd(fmt.Sprintf("BOARD/9/%d", i+1), "odile", "join", "name", fmt.Sprintf("S%d", i)))
			if errors.Is(err, ErrBusy) {
				busy <- err
			}
		}()
	}
	select {
	case <-busy:
	case <-time.After(10 * time.Second):
		t.Error("a full queue did not say so")
	}
	close(hold)
}

func TestDiskNearlyFull(t *testing.T) {
	free := uint64(10 << 30)
	e := open(t, memlog.New(), func(c *Config) {
		c.Free = func() (uint64, uint64, error) { return free, 20 << 30, nil }
	})
	for _, c := range founding() {
		insist(t, e, c)
	}
	free = 900 << 20
	if a := insist(t, e, arrivals(1)[0]); a.Refusal == nil || a.Refusal.Code != "E-SYS-03" {
		t.Errorf("new work on a nearly full disk: %+v", a)
	}
	if a := insist(t, e, cmd("BOARD/4/1", "odile", "join", "name", "ST-8")); a.Outcome != workflow.Kept {
		t.Errorf("what is under way may finish: %+v", a)
	}
	free = 400 << 20
	if a := insist(t, e, cmd("BOARD/4/2", "odile", "join", "name", "ST-9")); a.Refusal == nil || a.Refusal.Code != "E-SYS-03" {
		t.Errorf("anything on a full disk: %+v", a)
	}
}
