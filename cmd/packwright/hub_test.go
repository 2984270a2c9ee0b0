package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/rs/zerolog"

	"packwright/cmd/packwright/door"
	"packwright/events"
	"packwright/events/natslog"
	"packwright/prep"
	"packwright/workflow"
)

// TestExitCodes: the table from errors to exit codes.
func TestExitCodes(t *testing.T) {
	refusal := error(workflow.DiskFull())
	input := error(prep.Input("what", "do"))
	for _, c := range []struct {
		err  error
		code int
	}{
		{nil, 0},
		{errors.New("disk on fire"), 1},
		{fmt.Errorf("x: %w", events.ErrUnreachable), 1},
		{fmt.Errorf("x: %w", events.ErrFenced), 1},
		{fmt.Errorf("x: %w", events.ErrLocked), 1},
		{error(workflow.Undecided()), 1},
		{fs.ErrNotExist, 1},
		{errNoFloor, 1},
		{fmt.Errorf("x: %w", input), 2},
		{errors.Join(input, input), 2},
		{usage(errors.New("no such flag")), 2},
		{fmt.Errorf("x: %w", refusal), 3},
		{fmt.Errorf("%w: C-99", errNothing), 3},
		{errTold, 3},
		{fmt.Errorf("x: %w", events.ErrCorrupt), 4},
		{errors.Join(events.ErrUnreachable, events.ErrCorrupt), 4},
	} {
		if got := exitOf(c.err); got != c.code {
			t.Errorf("%v: exit %d, want %d", c.err, got, c.code)
		}
	}
	order := []error{nil, errTold, input, events.ErrUnreachable, events.ErrCorrupt}
	for i, a := range order {
		for j, b := range order {
			if got := worse(a, b); got != order[max(i, j)] {
				t.Errorf("of %v and %v, %v", a, b, got)
			}
		}
	}
}

// TestSayings: each problem is said once, with its place and what to do.
func TestSayings(t *testing.T) {
	at := &prep.InputError{File: "f.csv", Line: 3, Col: 5, What: "bad", Do: "mend it", Snippet: "a,b,c"}
	err := errors.Join(errors.Join(at, workflow.DiskFull()), fmt.Errorf("open: %w: another", events.ErrLocked))
	var b bytes.Buffer
	d := &desk{streams: &streams{err: &b}, settings: &settings{}}
	if code := d.tell(err); code != exitNo {
		t.Errorf("exit %d", code)
	}
	want := "packwright: f.csv:3:5: bad; mend it\n   3 | a,b,c\n     |     ^\n" +
		"packwright: E-SYS-03 Disk nearly full. No new runs; finish and call.\n" +
		"packwright: open: the log is held by another process: another\nAsk that hub with --url, or end it first.\n"
	if diff := cmp.Diff(want, b.String()); diff != "" {
		t.Error(diff)
	}
	b.Reset()
	d.JSON = true
	d.tell(err)
	var said struct {
		Exit     int
		Problems []saying
	}
	if err := json.Unmarshal(b.Bytes(), &said); err != nil || said.Exit != exitNo || len(said.Problems) != 3 || said.Problems[0].Line != 3 || said.Problems[1].Code != "E-SYS-03" {
		t.Errorf("%s, %v", b.Bytes(), err)
	}
}

// TestDefaultPolicyFile: the file that init writes says what holds without it.
func TestDefaultPolicyFile(t *testing.T) {
	p, err := workflow.ParsePolicy("default-policy.yaml", defaultPolicy)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(workflow.DefaultPolicy(), p, cmp.AllowUnexported(workflow.Policy{})); diff != "" {
		t.Errorf("-default +file\n%s", diff)
	}
}

// founds runs init in a directory and gives its exit code and what it said.
func founds(t *testing.T, dir string, more ...string) (int, string) {
	t.Helper()
	var said bytes.Buffer
	args := append([]string{"--data", dir, "--log", "error", "init", "yard", "--owner", "odile"}, more...)
	code := run(t.Context(), &streams{strings.NewReader(""), &said, &said}, args)
	return code, said.String()
}

// TestInitInterrupted: whatever an init has left, doing it again founds the
// floor, once.
func TestInitInterrupted(t *testing.T) {
	for name, leave := range map[string]func(t *testing.T, dir string){
		"an empty directory": func(t *testing.T, dir string) { must(t, os.MkdirAll(dir, 0o700)) },
		"only the policy": func(t *testing.T, dir string) {
			must(t, os.MkdirAll(dir, 0o700))
			must(t, os.WriteFile(filepath.Join(dir, "policy.yaml"), []byte("persons: 1\n"), 0o600))
		},
		"a store without a frame": func(t *testing.T, dir string) {
			l, err := natslog.Open(t.Context(), natslog.Config{Floor: "yard", Dir: filepath.Join(dir, "store")})
			must(t, err)
			must(t, l.Close())
		},
		"all but its name": func(t *testing.T, dir string) {
			if code, said := founds(t, dir); code != 0 {
				t.Fatal(said)
			}
			must(t, os.Remove(filepath.Join(dir, "floor.json")))
		},
	} {
		t.Run(name, func(t *testing.T) {
			dir := filepath.Join(t.TempDir(), "floor")
			leave(t, dir)
			if code, said := founds(t, dir); code != 0 {
				t.Fatalf("exit %d: %s", code, said)
			}
			h, err := openHub(t.Context(), place(dir), zerolog.Nop(), opening{})
			must(t, err)
			defer h.Close()
			if got := h.writer.Head(); got.Frame != 1 || got.Size != 3 {
				t.Errorf("head %+v", got)
			}
		})
	}
	dir := filepath.Join(t.TempDir(), "floor")
	founds(t, dir)
	must(t, os.Remove(filepath.Join(dir, "floor.json")))
	if code, said := founds(t, dir, "--currency", "USD"); code != exitInput || !strings.Contains(said, "currency EUR") {
		t.Errorf("finished with another currency: exit %d, %s", code, said)
	}
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// TestUndecidedIsKeptAside: a command that made the program panic can be found.
func TestUndecidedIsKeptAside(t *testing.T) {
	u := undecided{path: filepath.Join(t.TempDir(), "undecided.jsonl"), log: zerolog.Nop()}
	for n := range 2 {
		u.keep(workflow.Command{ID: fmt.Sprintf("ST-1/a/%d", n+1), Type: "place"}, "index out of range", []byte("stack"))
	}
	b, err := os.ReadFile(u.path)
	must(t, err)
	lines := strings.Split(strings.TrimSpace(string(b)), "\n")
	var last struct {
		Command workflow.Command
		Panic   string
	}
	if len(lines) != 2 || json.Unmarshal([]byte(lines[1]), &last) != nil || last.Command.ID != "ST-1/a/2" || last.Panic == "" {
		t.Errorf("%s", b)
	}
}

// TestClockwork: on a calm floor a round leaves no line in the log; a clock that
// differs, a bench that is silent with work open and a badge that is idle each
// leave one, once.
func TestClockwork(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "floor")
	if code, said := founds(t, dir); code != 0 {
		t.Fatal(said)
	}
	now := time.Now()
	h, err := openHub(t.Context(), place(dir), zerolog.Nop(), opening{Now: func() time.Time { return now }})
	must(t, err)
	defer h.Close()
	y := &yard{hub: h, t: t, door: door.Local{Writer: h.writer}}
	y.morning()
	watch := door.NewWatch(y.door, func() time.Time { return now })
	c := newClockwork(h.signing(zerolog.Nop()), watch, zerolog.Nop())
	c.now = func() time.Time { return now }
	round := func(want ...events.Type) {
		t.Helper()
		for range 2 {
			before := h.writer.Head().Frame
			c.round(t.Context())
			if got := y.types(before); !cmp.Equal(got, want) {
				t.Errorf("a round gives %v, want %v", got, want)
			}
			want = nil
		}
	}
	round()
	watch.Ask(t.Context(), workflow.Command{ID: "ST-1/c/1", Type: "caught-up", Badge: "tobi", At: events.At(now.Add(10 * time.Minute)), Data: []byte(`{"n":0}`)})
	round("clock.skew-noted")
	now = now.Add(3 * time.Minute) // three cartons are open
	round("station.quiet", "station.quiet", "station.quiet")
	// A truck leaves, and nobody signs the head: the clockwork does. A day that
	// nobody closed gets one too.
	for i, c := range []string{"open-load", "close-load"} {
		a := y.door.Ask(t.Context(), workflow.Command{ID: fmt.Sprintf("BOARD/c/%d", i+1), Type: c, Badge: "odile", Data: []byte(`{"load":"LD-7"}`)})
		must(t, a.Err())
	}
	round("head.signed")
	c.heads.key = nil
	y.door.Ask(t.Context(), workflow.Command{ID: "BOARD/c/3", Type: "open-load", Badge: "odile", Data: []byte(`{"load":"LD-8"}`)})
	round()
	key, err := h.about.key()
	must(t, err)
	c.heads.key = key
	round()
	h.policy.IdleMinutes, h.policy.QuietCall = 0, 0
	now = now.Add(24 * time.Hour)
	round("head.signed")
}

// types lists the events after a frame.
func (y *yard) types(after uint64) (out []events.Type) {
	y.t.Helper()
	must(y.t, y.log.Scan(y.t.Context(), after+1, func(seq uint64, frame []byte) error {
		_, lines, err := events.SplitFrame(frame)
		if err != nil {
			return err
		}
		evs, err := events.DecodeLines(seq, lines)
		for i := range evs {
			out = append(out, evs[i].Type())
		}
		return err
	}))
	return out
}
