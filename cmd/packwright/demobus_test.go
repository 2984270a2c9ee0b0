package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"packwright/cmd/packwright/door"
	"packwright/testdata/demo"
	"packwright/workflow"
)

// benchProcess is a process of its own at one bench: a command a line goes in,
// its answer comes out before the next.
type benchProcess struct {
	cmd *exec.Cmd
	in  io.WriteCloser
	out *bufio.Reader
}

func startBench(t *testing.T, url string) *benchProcess {
	t.Helper()
	cmd := exec.Command(os.Args[0], "do", "--bus", url, "--floor", demo.Floor)
	cmd.Env, cmd.Stderr = append(os.Environ(), asProgram+"=1"), io.Discard
	in, err := cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = in.Close()
		_ = cmd.Wait() // 3: the day has refusals
	})
	return &benchProcess{cmd, in, bufio.NewReader(out)}
}

func (b *benchProcess) ask(c workflow.Command) (a door.Answer, err error) {
	line, err := json.Marshal(&c)
	if err != nil {
		return a, err
	}
	if _, err := b.in.Write(append(line, '\n')); err != nil {
		return a, err
	}
	got, err := b.out.ReadBytes('\n')
	if err != nil {
		return a, err
	}
	return a, json.Unmarshal(got, &a)
}

// busDoor gives the commands of each bench to its own process, and those of the
// board and the phones here.
type busDoor struct {
	demoDoor
	benches map[string]*benchProcess
	n       map[string]int
}

func (x busDoor) Do(ctx context.Context, c workflow.Command) (workflow.Outcome, workflow.Code, error) {
	station, _, _ := strings.Cut(c.ID, "/")
	b := x.benches[station]
	if b == nil {
		return x.demoDoor.Do(ctx, c)
	}
	x.n[station]++
	a, err := b.ask(c)
	if err == nil && !a.Answered() {
		err = errors.Join(errors.New("not answered"), a.Err())
	}
	if err != nil || a.Refusal == nil {
		return a.Outcome, "", err
	}
	return a.Outcome, a.Refusal.Code, nil
}

// TestDemoOverTheBus plays the day with three bench processes on the bus. The
// log is the same as when it is played in one process: event for event, byte
// for byte, so that both have one root.
func TestDemoOverTheBus(t *testing.T) {
	var v verified
	if err := json.Unmarshal([]byte(succeed(t, "verify", "--json", "--data", playedDay(t))), &v); err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	d := newDesk(t.Context(), &streams{strings.NewReader(""), &out, os.Stderr}, &settings{Log: "warn"})
	f, err := openDemo(d, t.TempDir(), "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := f.Close(); err != nil {
			t.Error(err)
		}
	}()
	bus, err := door.ServeBus(f.log.Conn(), demo.Floor, door.Local{Writer: f.writer}, zerolog.Nop())
	if err != nil {
		t.Fatal(err)
	}
	defer bus.Close()
	x := busDoor{demoDoor{f, func() {}}, map[string]*benchProcess{}, map[string]int{}}
	for i := range 3 {
		x.benches[station(i)] = startBench(t, f.log.BenchURL())
	}
	if err := demo.Play(t.Context(), demo.Day(), &f.clock, x); err != nil {
		t.Fatal(err)
	}
	for i := range 3 {
		if x.n[station(i)] < 100 {
			t.Errorf("%s gave only %d commands", station(i), x.n[station(i)])
		}
	}
	if got := f.writer.Head(); got.Root != v.Verdict.Root || got.Size != v.Verdict.Events {
		t.Errorf("over the bus: %d events, root %s; in one process %d, %s", got.Size, got.Root, v.Verdict.Events, v.Verdict.Root)
	}
	if err := f.books.reach(t.Context(), f.writer.Head().Frame); err != nil {
		t.Fatal(err)
	}
	if err := f.check(d, time.Now()); err != nil {
		t.Errorf("%v\n%s", err, out.String())
	}
}
