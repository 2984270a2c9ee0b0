package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"packwright/cmd/packwright/door"
	"packwright/events"
	"packwright/workflow"
)

// hubProcess is a hub that runs as a process of its own, its log in a file.
type hubProcess struct {
	t   *testing.T
	at  place
	cmd *exec.Cmd
	log string
}

func startHub(t *testing.T, at place, args ...string) *hubProcess {
	t.Helper()
	p := &hubProcess{t: t, at: at, log: filepath.Join(t.TempDir(), "hub.log")}
	out, err := os.Create(p.log)
	if err != nil {
		t.Fatal(err)
	}
	p.cmd = exec.Command(os.Args[0], append([]string{"--data", string(at), "--log", "debug", "serve", "--listen", "127.0.0.1:0", "--bus", "127.0.0.1:0"}, args...)...)
	p.cmd.Env = append(os.Environ(), asProgram+"=1")
	p.cmd.Stderr = out
	if err := p.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = p.cmd.Process.Kill(); _ = out.Close() })
	for range 1000 {
		if len(readable(at.hubURL())) > 0 && len(readable(at.benchURL())) > 0 {
			return p
		}
		time.Sleep(10 * time.Millisecond)
	}
	t.Fatalf("the hub did not open: %s", readable(p.log))
	return nil
}

// asker gives numbered commands through one door until one is not answered.
type asker struct {
	epoch string
	ask   func(context.Context, workflow.Command) (door.Answer, error) // an error: half an answer came
	kept  map[string]uint64                                            // command → frame of its answer
	away  int
	half  error
}

func (a *asker) run(ctx context.Context) {
	a.kept = map[string]uint64{}
	for n := 1; ctx.Err() == nil; n++ {
		body, _ := json.Marshal(fields{"badge": fmt.Sprintf("greta-%s-%d", a.epoch, n), "roles": []string{"packer"}})
		c := workflow.Command{ID: fmt.Sprintf("BOARD/%s/%d", a.epoch, n), Type: "enrol-badge", Badge: "odile", Data: body}
		got, err := a.ask(ctx, c)
		switch {
		case err != nil:
			a.half = fmt.Errorf("%s: %w", c.ID, err)
			return
		case got.Outcome == workflow.Kept:
			a.kept[c.ID] = got.Frame
		case got.Answered():
			a.half = fmt.Errorf("%s: %v", c.ID, got.Err())
			return
		default:
			a.away++
			return
		}
	}
}

// overWeb posts without asking again, so that half an answer is seen as what it is.
func overWeb(url string) func(context.Context, workflow.Command) (door.Answer, error) {
	return func(ctx context.Context, c workflow.Command) (a door.Answer, err error) {
		body, err := json.Marshal(c)
		if err != nil {
			return a, err
		}
		resp, err := http.Post(url+"/do", "application/json", bytes.NewReader(body))
		if err != nil {
			return door.Troubled(c.ID, events.ErrUnreachable), nil // nothing came at all
		}
		defer resp.Body.Close()
		b, err := io.ReadAll(resp.Body)
		if err == nil {
			err = json.Unmarshal(b, &a)
		}
		return a, err
	}
}

func overBus(f door.Floor) func(context.Context, workflow.Command) (door.Answer, error) {
	return func(ctx context.Context, c workflow.Command) (door.Answer, error) { return f.Ask(ctx, c), nil }
}

// TestEndsGracefully asks a hub through both doors as fast as it answers, and
// sends it SIGTERM: it ends with code 0, no answer comes by halves, and what the
// log kept is what was answered, command for command. Neither its own log nor its
// figures hold what was said, or by whom.
func TestEndsGracefully(t *testing.T) {
	at := place(filepath.Join(t.TempDir(), "floor"))
	if code := run(t.Context(), &streams{strings.NewReader(""), new(bytes.Buffer), t.Output()}, []string{"--data", string(at), "--log", "error", "init", "yard", "--owner", "odile"}); code != 0 {
		t.Fatalf("init: exit %d", code)
	}
	hub := startHub(t, at)
	url := strings.TrimSpace(string(readable(at.hubURL())))
	if a, err := overWeb(url)(t.Context(), workflow.Command{ID: "BOARD/first/1", Type: "sign-in", Badge: "odile"}); err != nil || a.Outcome != workflow.Kept {
		t.Fatalf("%+v, %v", a, err)
	}
	var all []*asker
	var work sync.WaitGroup
	for i := range 24 {
		ask := overWeb(url)
		if i%2 == 1 {
			bus, err := door.DialBus(strings.TrimSpace(string(readable(at.benchURL()))), "yard", 2*time.Second)
			if err != nil {
				t.Fatal(err)
			}
			defer bus.Close()
			ask = overBus(bus)
		}
		a := &asker{epoch: fmt.Sprintf("w%d", i), ask: ask}
		all = append(all, a)
		work.Go(func() { a.run(t.Context()) })
	}
	time.Sleep(700 * time.Millisecond)
	figures := scrape(t, url)
	if err := hub.cmd.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	if err := hub.cmd.Wait(); err != nil {
		t.Errorf("the hub ended with %v: %s", err, tailOf(hub.log))
	}
	work.Wait()
	answered := map[string]uint64{}
	for _, a := range all {
		if a.half != nil {
			t.Errorf("half an answer: %v", a.half)
		}
		maps.Copy(answered, a.kept)
	}
	if len(answered) < 50 {
		t.Errorf("only %d commands were answered", len(answered))
	}
	sameAsLog(t, at, answered)
	saysNothing(t, readable(hub.log), figures)
	t.Logf("%d commands answered before the end", len(answered))
}

// sameAsLog compares what was answered with what is kept.
func sameAsLog(t *testing.T, at place, answered map[string]uint64) {
	t.Helper()
	h, err := openHub(t.Context(), at, zerolog.Nop(), opening{Program: "the test"})
	if err != nil {
		t.Fatal(err)
	}
	defer h.Close()
	seen := map[string]bool{}
	err = h.log.Scan(t.Context(), 1, func(seq uint64, frame []byte) error {
		_, lines, err := events.SplitFrame(frame)
		if err != nil {
			return err
		}
		evs, err := events.DecodeLines(seq, lines)
		for i := range evs {
			if evs[i].Type() != "badge.enrolled" || !strings.HasPrefix(evs[i].Cause, "BOARD/w") {
				continue
			}
			switch in, ok := answered[evs[i].Cause]; {
			case !ok:
				t.Errorf("%s is kept in frame %d and was never answered", evs[i].Cause, seq)
			case in != seq || seen[evs[i].Cause]:
				t.Errorf("%s was answered in frame %d and is kept in frame %d", evs[i].Cause, in, seq)
			}
			seen[evs[i].Cause] = true
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(seen) != len(answered) {
		t.Errorf("%d commands were answered as kept, %d are", len(answered), len(seen))
	}
}

func scrape(t *testing.T, url string) string {
	t.Helper()
	resp, err := http.Get(url + "/metrics")
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	b, err := io.ReadAll(resp.Body)
	if err != nil || resp.StatusCode != http.StatusOK {
		t.Fatalf("%d, %v", resp.StatusCode, err)
	}
	return string(b)
}

// saysNothing looks for what was said in the hub's own log and figures, and for
// what has to be there.
func saysNothing(t *testing.T, log []byte, figures string) {
	t.Helper()
	for _, secret := range []string{"odile", "greta"} {
		if bytes.Contains(log, []byte(secret)) || strings.Contains(figures, secret) {
			t.Errorf("%q stands in the hub's log or figures", secret)
		}
	}
	for _, name := range []string{`packwright_commands_total{outcome="kept",type="enrol-badge"}`, "packwright_append_seconds_count", "packwright_frame_bytes_sum",
		`packwright_command_seconds_bucket{outcome="kept",le=`, "packwright_auditor_lag_frames", "packwright_events ", "packwright_disk_free_bytes", "packwright_green 1", "go_goroutines"} {
		if !strings.Contains(figures, name) {
			t.Errorf("no %s among the figures", name)
		}
	}
	lines := 0
	for scan := bufio.NewScanner(bytes.NewReader(log)); scan.Scan(); {
		var line struct {
			Level, Command, Type, Outcome, Message string
			Code                                   *string
			MS                                     *float64
		}
		if json.Unmarshal(scan.Bytes(), &line) != nil || line.Message != "command" {
			continue
		}
		if lines++; line.Level != "debug" || line.Command == "" || line.Type == "" || line.Outcome == "" || line.Code == nil || line.MS == nil {
			t.Fatalf("a line of a command: %s", scan.Bytes())
		}
	}
	if lines < 50 {
		t.Errorf("only %d lines of commands in the hub's log", lines)
	}
}

func tailOf(file string) string {
	b := readable(file)
	return string(b[max(0, len(b)-2000):])
}
