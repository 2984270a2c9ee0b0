package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/rs/zerolog"

	"packwright/cmd/packwright/door"
	"packwright/events"
	"packwright/prep"
	"packwright/workflow"
)

// pieces is how many units each bench places, one command each.
const pieces = 60

// yard is a hub in this process with its bus on a loopback port, and three
// benches whose totes hold pieces that are ready to be placed.
type yard struct {
	*hub
	t    testing.TB
	n    int
	door door.Floor
	bus  *door.Bus
	url  string
}

func openYard(t testing.TB) *yard {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "floor")
	if code := run(t.Context(), &streams{strings.NewReader(""), new(bytes.Buffer), os.Stderr}, []string{"--data", dir, "--log", "warn", "init", "yard", "--owner", "odile"}); code != 0 {
		t.Fatalf("init: exit %d", code)
	}
	h, err := openHub(t.Context(), place(dir), zerolog.Nop(), opening{Program: "the test", Bus: "127.0.0.1:0", Publish: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := h.Close(); err != nil {
			t.Error(err)
		}
	})
	y := &yard{hub: h, t: t, door: door.Local{Writer: h.writer}, url: h.log.BenchURL()}
	y.bus, err = door.ServeBus(h.log.Conn(), "yard", y.door, zerolog.Nop())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = y.bus.Close() })
	y.morning()
	return y
}

// do gives a command that must be kept.
func (y *yard) do(station, badge, what string, data any) {
	y.t.Helper()
	y.n++
	body, err := json.Marshal(data)
	if err != nil {
		y.t.Fatal(err)
	}
	a := y.door.Ask(context.Background(), workflow.Command{ID: fmt.Sprintf("%s/test/%d", station, y.n), Type: what, Badge: badge, Data: body})
	if a.Outcome != workflow.Kept {
		y.t.Fatalf("%s %s: %s %v", what, body, a.Outcome, a.Err())
	}
}

type fields map[string]any

// morning makes everything ready: one lot, one run and one carton a bench.
func (y *yard) morning() {
	src, err := os.ReadFile(filepath.Join(root, "testdata", "demo", "rulebook-r4.yaml"))
	if err != nil {
		y.t.Fatal(err)
	}
	list, err := os.ReadFile(filepath.Join(root, "testdata", "demo", "items.yaml"))
	if err != nil {
		y.t.Fatal(err)
	}
	items, err := prep.ParseItems("items.yaml", list)
	if err != nil {
		y.t.Fatal(err)
	}
	y.do("BOARD", "odile", "sign-in", fields{})
	for _, it := range items {
		y.do("BOARD", "odile", "register-item", it)
	}
	y.do("BOARD", "odile", "publish-rulebook", fields{"source": string(src), "file": "r4"})
	var lines []fields
	for i := range 3 {
		lines = append(lines, fields{"carton": carton(i), "item": "SPC", "q": pieces, "owner": "quill"})
	}
	y.do("BOARD", "odile", "release", fields{"plan": "P-1", "lines": lines})
	for i := range 3 {
		y.ready(i)
	}
}

func station(i int) string { return fmt.Sprintf("ST-%d", i+1) }
func badge(i int) string   { return []string{"tobi", "ife", "sunniva"}[i] }
func carton(i int) string  { return fmt.Sprintf("C-%02d", i+1) }

// ready receives and preps one bench's lot, and opens its carton.
func (y *yard) ready(i int) {
	lot, tote, run, out := fmt.Sprintf("L-%02d", i+1), fmt.Sprintf("T-%02d", i+1), fmt.Sprintf("R-%02d", i+1), fmt.Sprintf("T-%02d", i+21)
	y.do("BOARD", "odile", "join", fields{"name": station(i)})
	y.do("BOARD", "odile", "enrol-badge", fields{"badge": badge(i), "roles": []string{"packer"}})
	y.do("BOARD", "odile", "announce", fields{"lot": lot, "item": "SPC", "owner": "quill", "qty": pieces})
	y.do("BOARD", "odile", "receive", fields{"lot": lot, "tote": tote, "qty": pieces})
	here := func(what string, data fields) { y.t.Helper(); y.do(station(i), badge(i), what, data) }
	here("sign-in", fields{})
	here("triage", fields{"tote": tote, "q": pieces, "verdict": "prep"})
	here("open-run", fields{"run": run, "tote": tote, "q": pieces, "bench_clear": "yes"})
	here("check-step", fields{"run": run, "step": "look-over", "n": pieces})
	here("finish-units", fields{"run": run, "q": pieces, "to": out})
	here("close-run", fields{"run": run})
	here("open-carton", fields{"carton": carton(i), "tare_g": 520})
}

// outbox is what bench i sends: its placements, and one into its neighbour's carton.
func outbox(i int) string {
	var b strings.Builder
	line := func(n int, carton string) {
		fmt.Fprintf(&b, `{"id":"%s/box/%d","type":"place","badge":"%s","data":{"carton":"%s","code":"SPC","from":"T-%02d"}}`+"\n", station(i), n, badge(i), carton, i+21)
	}
	for n := 1; n <= pieces; n++ {
		line(n, carton(i))
	}
	line(pieces+1, carton((i+1)%3))
	return b.String()
}

// bench is a process of its own that sends an outbox over the bus.
func (y *yard) bench(i int) (cmd *exec.Cmd, out *lineBuffer) {
	cmd = exec.Command(os.Args[0], "do", "--bus", y.url, "--floor", "yard")
	cmd.Env = append(os.Environ(), asProgram+"=1")
	cmd.Stdin = strings.NewReader(outbox(i))
	out = &lineBuffer{}
	cmd.Stdout, cmd.Stderr = out, os.Stderr
	if err := cmd.Start(); err != nil {
		y.t.Fatal(err)
	}
	return cmd, out
}

// lineBuffer gathers what a process writes, and can be looked at meanwhile.
type lineBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *lineBuffer) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

// lines is how many whole lines there are by now.
func (l *lineBuffer) lines() int {
	l.mu.Lock()
	defer l.mu.Unlock()
	return bytes.Count(l.b.Bytes(), []byte{'\n'})
}

func (l *lineBuffer) answers(t testing.TB) (out []door.Answer) {
	l.mu.Lock()
	defer l.mu.Unlock()
	for _, line := range strings.Split(strings.TrimSpace(l.b.String()), "\n") {
		var a door.Answer
		if line == "" || json.Unmarshal([]byte(line), &a) != nil {
			continue // nothing yet, or the line a killed process was writing
		}
		if len(a.Events) > 0 {
			t.Fatalf("a packer's answer holds events: %s", line)
		}
		out = append(out, a)
	}
	return out
}

// TestBenches lets three bench processes place over the bus at once. One is
// killed in the middle and begins its outbox anew. Every piece is in its carton
// exactly once, every event is heard once, in order.
func TestBenches(t *testing.T) {
	y := openYard(t)
	heard := y.listen()
	begin := y.writer.Head()

	victim, some := y.bench(0)
	for until := time.Now().Add(20 * time.Second); len(some.answers(t)) < 5 && time.Now().Before(until); {
		time.Sleep(time.Millisecond)
	}
	if err := victim.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	_ = victim.Wait() // it was killed
	before := len(some.answers(t))
	if before < 5 || before > pieces {
		t.Fatalf("%d answers before the kill: the test proves nothing", before)
	}

	var benches []*exec.Cmd
	var outs []*lineBuffer
	for i := range 3 {
		cmd, out := y.bench(i)
		benches, outs = append(benches, cmd), append(outs, out)
	}
	for i, cmd := range benches {
		if err := cmd.Wait(); err == nil || cmd.ProcessState.ExitCode() != exitNo {
			t.Errorf("bench %d ended with %v; its last command must be refused", i, err)
		}
		y.told(i, outs[i].answers(t), before)
	}
	y.contents()
	y.everyEvent(heard, begin.Frame)
}

// told checks one bench's answers: all kept, or kept before the kill; the last refused.
func (y *yard) told(i int, answers []door.Answer, before int) {
	y.t.Helper()
	if len(answers) != pieces+1 {
		y.t.Fatalf("bench %d heard %d answers, want %d", i, len(answers), pieces+1)
	}
	already := 0
	for n, a := range answers[:pieces] {
		switch {
		case a.Outcome == workflow.Already && i == 0:
			already++
		case a.Outcome != workflow.Kept || a.Seq == nil || a.Root == "":
			y.t.Errorf("bench %d, command %d: %+v", i, n+1, a)
		}
	}
	if i == 0 && (already < before || already > before+1) {
		y.t.Errorf("%d were kept before the kill, %d of them were answered", already, before)
	}
	last := answers[pieces]
	if last.Outcome != workflow.No || last.Refusal == nil || last.Refusal.Code != "E-CAR-03" {
		y.t.Errorf("bench %d placed into another's carton: %+v", i, last)
	}
}

// contents checks that each carton holds its pieces once.
func (y *yard) contents() {
	y.t.Helper()
	if err := y.writer.View(y.t.Context(), func(f *workflow.Floor) {
		for i := range 3 {
			if got := f.Ledger.QtyAt(carton(i)); got != pieces {
				y.t.Errorf("%s holds %d pieces, want %d", carton(i), got, pieces)
			}
		}
	}); err != nil {
		y.t.Fatal(err)
	}
}

// listen hears every event on the bus, with its place.
func (y *yard) listen() <-chan *nats.Msg {
	y.t.Helper()
	conn, err := y.log.Connect("listener")
	if err != nil {
		y.t.Fatal(err)
	}
	y.t.Cleanup(conn.Close)
	heard := make(chan *nats.Msg, 4096)
	if _, err := conn.ChanSubscribe("floor.yard.event.>", heard); err != nil {
		y.t.Fatal(err)
	}
	if err := conn.Flush(); err != nil {
		y.t.Fatal(err)
	}
	return heard
}

// everyEvent compares what was heard after a frame with the log.
func (y *yard) everyEvent(heard <-chan *nats.Msg, after uint64) {
	y.t.Helper()
	want := map[string]string{}
	err := y.log.Scan(y.t.Context(), after+1, func(seq uint64, frame []byte) error {
		_, lines, err := events.SplitFrame(frame)
		for i, line := range lines {
			want[events.Seq{Frame: seq, Index: i}.String()] = string(line)
		}
		return err
	})
	if err != nil {
		y.t.Fatal(err)
	}
	var order []events.Seq
	for len(order) < len(want) {
		select {
		case m := <-heard:
			seq, err := events.ParseSeq(m.Header.Get("Seq"))
			if err == nil && seq.Frame <= after {
				continue // of the morning, still on its way
			}
			if err != nil || want[seq.String()] != string(m.Data) {
				y.t.Fatalf("heard %s %s %s, %v", m.Subject, m.Header.Get("Seq"), m.Data, err)
			}
			order = append(order, seq)
		case <-time.After(10 * time.Second):
			y.t.Fatalf("%d events were heard, %d are in the log", len(order), len(want))
		}
	}
	if !slices.IsSortedFunc(order, func(a, b events.Seq) int {
		if a.Less(b) {
			return -1
		}
		return 1
	}) {
		y.t.Error("events were heard out of order")
	}
}
