package main

import (
	"context"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
	"github.com/rs/zerolog"

	"packwright/audit/follow"
	"packwright/cmd/packwright/door"
	"packwright/events"
	"packwright/workflow"
)

// Stories of what goes wrong with a floor's machine. In each: what the hub says
// is a sentence that one can act upon; no work is taken that might be lost;
// nothing that was answered is lost; and the doctor finds it. The disk's own
// stories are in faultdisk_linux_test.go.

// ward is a floor to which something happens.
type ward struct {
	t    *testing.T
	dir  string
	n    int
	kept map[string]bool // commands that were answered "kept"
}

// newWard founds a floor and lets it announce ten lots.
func newWard(t *testing.T, dir string) *ward {
	t.Helper()
	if code, said := founds(t, dir); code != exitDone {
		t.Fatal(said)
	}
	w := &ward{t: t, dir: dir, kept: map[string]bool{}}
	h := w.open(opening{})
	w.ask(h, "sign-in", fields{})
	w.ask(h, "register-item", fields{"item": "TRY", "name": "tray", "codes": []string{"9520000010034"}, "trace": "class", "unit_g": 355, "unit_sd_g": 5, "value_minor": 1500})
	w.pack(h, 10)
	must(t, h.Close())
	return w
}

func (w *ward) open(how opening) *hub {
	w.t.Helper()
	h, err := openHub(w.t.Context(), place(w.dir), zerolog.Nop(), how)
	must(w.t, err)
	return h
}

// ask gives a command and notes whether it was kept.
func (w *ward) ask(h *hub, what string, data any) door.Answer {
	w.t.Helper()
	w.n++
	a := door.Local{Writer: h.writer}.Ask(context.Background(), workflow.Command{ID: fmt.Sprintf("BOARD/ward/%d", w.n), Type: what, Badge: "odile", Data: jsonBytes(w.t, data)})
	if a.Outcome == workflow.Kept {
		w.kept[a.ID] = true
	}
	return a
}

// pack announces lots until one is not kept, n at most, and gives the last answer.
func (w *ward) pack(h *hub, n int) (a door.Answer) {
	w.t.Helper()
	for range n {
		if a = w.ask(h, "announce", fields{"lot": fmt.Sprint("L-", w.n), "item": "TRY", "owner": "house", "qty": 3}); a.Outcome != workflow.Kept {
			break
		}
	}
	return a
}

// refused demands that no hub opens, and of its words that they say these.
func (w *ward) refused(code int, words ...string) {
	w.t.Helper()
	for _, args := range [][]string{{"board"}, {"serve", "--listen", "127.0.0.1:0"}} {
		got := give(w.t, append(args, "--data", w.dir)...)
		if got.code != code {
			w.t.Errorf("%s: %+v, want exit %d", args[0], got, code)
		}
		says(w.t, got.err, words...)
	}
}

// doctor demands its exit code and words.
func (w *ward) doctor(code int, words ...string) {
	w.t.Helper()
	same := guard(w.t, filepath.Join(w.dir, "store"))
	got := give(w.t, "doctor", "--listen", "127.0.0.1:0", "--data", w.dir)
	same()
	if got.code != code {
		w.t.Errorf("doctor: exit %d, want %d\n%s%s", got.code, code, got.out, got.err)
	}
	says(w.t, got.out+got.err, words...)
}

func says(t *testing.T, text string, words ...string) {
	t.Helper()
	for _, want := range words {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not said in\n%s", want, text)
		}
	}
}

// allThere opens the floor and finds every command that was kept in the log, once.
func (w *ward) allThere() {
	w.t.Helper()
	h := w.open(opening{})
	defer func() { must(w.t, h.Close()) }()
	v, err := follow.Verify(w.t.Context(), h.log, nil)
	must(w.t, err)
	times, err := causesOf(w.t.Context(), h.log)
	must(w.t, err)
	for id := range w.kept {
		if times[id] != 1 {
			w.t.Errorf("%s was answered, and stands %d times in the log", id, times[id])
		}
	}
	for id, n := range times {
		if n != 1 {
			w.t.Errorf("%s stands %d times in the log", id, n)
		}
	}
	if !v.OK() {
		w.t.Error(firstBreach(v))
	}
	if a := w.pack(h, 1); a.Outcome != workflow.Kept {
		w.t.Errorf("packing does not go on: %+v", a)
	}
}

// TestStoryAllIsWell: a doctor that finds nothing.
func TestStoryAllIsWell(t *testing.T) {
	w := newWard(t, filepath.Join(t.TempDir(), "floor"))
	w.doctor(exitDone, "ok    store: ", "all 13 frames are proven", "note  backup: none is known")
	must(t, os.WriteFile(place(w.dir).backup(), fmt.Appendf(nil, `{"at":%q,"file":"b","events":9,"verified":false}`, time.Now().Format(time.RFC3339)), 0o600))
	w.doctor(exitFailed, "WRONG backup: the last one, b, was not proven", "Run packwright backup")
	must(t, os.WriteFile(place(w.dir).backup(), []byte(`{"at":"2020-01-01T00:00:00Z","file":"b","events":9,"verified":true}`), 0o600))
	w.doctor(exitFailed, "WRONG backup: the last one is of 2020-01-01")
	must(t, os.Remove(place(w.dir).backup()))
	busy := hubOn(t, copyOf(t, w.dir))
	got := give(t, "doctor", "--data", w.dir, "--listen", strings.TrimPrefix(busy, "http://"))
	says(t, got.out, "WRONG port: serve cannot listen there")
	if got.code != exitFailed {
		t.Errorf("exit %d", got.code)
	}
	w.allThere()
}

// TestStorySlowDisk: appends take long. Commands wait for their frame, more than
// the queue holds are turned away at once, questions about health are answered
// meanwhile, and all that was answered is there.
func TestStorySlowDisk(t *testing.T) {
	w := newWard(t, filepath.Join(t.TempDir(), "floor"))
	slow := make(chan struct{})
	h := w.open(opening{Log: func(l events.Log) events.Log { return slowLog{l, slow} }})
	const askers = 2200
	answers := make(chan door.Answer, askers)
	var all sync.WaitGroup
	for i := range askers {
		all.Go(func() {
			ctx, cancel := context.WithTimeout(context.Background(), 2*time.Minute)
			defer cancel()
			a, err := h.writer.Do(ctx, workflow.Command{ID: fmt.Sprintf("BOARD/slow%d/1", i), Type: "announce", Badge: "odile",
				Data: fmt.Appendf(nil, `{"lot":"S-%d","item":"TRY","owner":"house","qty":3}`, i)})
			if err != nil {
				answers <- door.Troubled("", err)
			} else {
				answers <- door.Answer{ID: a.ID, Outcome: a.Outcome}
			}
		})
	}
	turned := 0
	for early := range 300 {
		a := <-answers
		if a.Answered() || a.Error == nil || !strings.Contains(a.Error.Text, "queue is full") {
			t.Fatalf("answer %d while the disk stands still: %+v", early, a)
		}
		turned++
	}
	begun := time.Now()
	if got, ok := h.health(t.Context(), newLight()); !ok || time.Since(begun) > 5*time.Second {
		t.Errorf("health after %v: %+v", time.Since(begun), got)
	}
	close(slow)
	all.Wait()
	close(answers)
	for a := range answers {
		switch {
		case a.Outcome == workflow.Kept:
			w.kept[a.ID] = true
		case a.Error != nil && strings.Contains(a.Error.Text, "queue is full"):
			turned++
		default:
			t.Errorf("%+v", a)
		}
	}
	if len(w.kept) < 500 || turned+len(w.kept)-12 != askers {
		t.Errorf("%d kept, %d turned away of %d", len(w.kept), turned, askers)
	}
	must(t, h.Close())
	w.allThere()
}

// slowLog stands still until its channel is closed.
type slowLog struct {
	events.Log
	goes <-chan struct{}
}

func (l slowLog) Append(ctx context.Context, after uint64, frame []byte) error {
	<-l.goes
	return l.Log.Append(ctx, after, frame)
}

// TestStoryClockSetBack: the machine's clock stands three hours before the last
// event. The log does not go back, packing goes on, and the doctor says it.
func TestStoryClockSetBack(t *testing.T) {
	w := newWard(t, filepath.Join(t.TempDir(), "floor"))
	now := time.Now().Add(3 * time.Hour)
	h := w.open(opening{Now: func() time.Time { return now }})
	w.pack(h, 5)
	must(t, h.Close())
	h = w.open(opening{}) // three hours back
	if a := w.pack(h, 5); a.Outcome != workflow.Kept {
		t.Errorf("%+v", a)
	}
	must(t, h.Close())
	w.doctor(exitFailed, "WRONG clock: the last event was recorded at ", "after this machine's time", "Set the machine's clock")
	w.allThere() // the laws hold: recorded never goes back
}

// TestStoryTwoHubs: a second hub on one directory is refused and told who has it;
// on one stream elsewhere the fence stops the one that comes second.
func TestStoryTwoHubs(t *testing.T) {
	w := newWard(t, filepath.Join(t.TempDir(), "floor"))
	h := w.open(opening{Program: "the first hub"})
	w.refused(exitFailed, "the log is held by another process: the first hub, pid ", "Ask that hub with --url, or end it first")
	w.doctor(exitFailed, "WRONG hub: the log is held by another process: the first hub", "no hub answers by hub.url")
	w.pack(h, 3)
	must(t, h.Close())
	w.allThere()

	elsewhere := filepath.Join(t.TempDir(), "floor")
	if code, said := founds(t, elsewhere, "--nats", strangerBus(t)); code != exitDone {
		t.Fatal(said)
	}
	w = &ward{t: t, dir: elsewhere, kept: map[string]bool{}}
	one, two := w.open(opening{}), w.open(opening{})
	w.ask(one, "sign-in", fields{})
	a := w.ask(two, "enrol-badge", fields{"badge": "tobi", "roles": []string{"packer"}})
	if a.Answered() {
		a = w.ask(two, "sign-in", fields{}) // a refusal writes nothing; this does
	}
	if err := a.Err(); !errors.Is(two.writer.Err(), events.ErrFenced) || exitOf(err) != exitFailed {
		t.Errorf("the second hub: %v, its writer: %v", err, two.writer.Err())
	}
	if a := w.ask(one, "enrol-badge", fields{"badge": "ife", "roles": []string{"packer"}}); a.Outcome != workflow.Kept {
		t.Errorf("the first hub: %+v", a)
	}
	_ = two.Close() // it was stopped by force
	must(t, one.Close())
}

// TestStoryDamagedBlock: the newest block was cut off or a bit of it has flipped,
// with the machine's last stop sudden: no snapshot was written. The hub does not
// open and names the place; with the store's copy all is there.
func TestStoryDamagedBlock(t *testing.T) {
	for name, damage := range map[string]func(raw []byte) []byte{
		"cut off in the middle": func(raw []byte) []byte { return raw[:len(raw)/2] },
		"a bit flipped":         func(raw []byte) []byte { raw[len(raw)/2] ^= 4; return raw },
		"a bit of a frame's number": func(raw []byte) []byte {
			for at, n := 0, 0; ; n++ {
				if n == 6 {
					raw[at+9] ^= 1
					return raw
				}
				at += int(binary.LittleEndian.Uint32(raw[at:]) &^ (1 << 31))
			}
		},
	} {
		t.Run(name, func(t *testing.T) {
			w := newWard(t, filepath.Join(t.TempDir(), "floor"))
			must(t, os.RemoveAll(place(w.dir).snapshot()))
			copied := filepath.Join(t.TempDir(), "store")
			must(t, os.CopyFS(copied, os.DirFS(place(w.dir).store())))
			path := block(t, w.dir)
			good, err := os.ReadFile(path)
			must(t, err)
			must(t, os.WriteFile(path, damage(good), 0o600))
			w.doctor(exitCorrupt, "WRONG ", "frame", "Keep the directory as it is")
			w.refused(exitCorrupt, "frame", "Stop. Keep the directory as it is, and call the owner")
			must(t, os.RemoveAll(place(w.dir).store()))
			must(t, os.Rename(copied, place(w.dir).store()))
			w.allThere()
		})
	}
}

// TestStoryStreamChanged: somebody with rights on the bus sets a limit, and
// frames are thrown away. The hub that runs notices and takes nothing more; no
// hub opens; the doctor finds it.
func TestStoryStreamChanged(t *testing.T) {
	s := serveHub(t)
	conn, err := s.log.Connect("a stranger")
	must(t, err)
	defer conn.Close()
	limit(t, conn, func(c *jetstream.StreamConfig) { c.MaxMsgs, c.Discard = 1, jetstream.DiscardOld })
	limit(t, conn, func(c *jetstream.StreamConfig) { c.MaxMsgs, c.Discard = -1, jetstream.DiscardNew })
	limit(t, conn, func(c *jetstream.StreamConfig) { c.MaxMsgSize = 1 << 20 })
	select {
	case <-s.light.out:
	case <-time.After(4 * storeLook):
		t.Fatal("the light stayed green")
	}
	if status, body := s.call("POST", "/do", `{"id":"BOARD/r/1","type":"sign-in","badge":"odile"}`); status != 500 || !strings.Contains(body, "MaxMsgSize is 1048576, must be -1") {
		t.Errorf("a command after that: %d %s", status, body)
	}
	got := give(t, "doctor", "--data", string(s.place), "--listen", "127.0.0.1:0")
	says(t, got.out, "WRONG hub: it says it is not well: the log is not believable: stream floor-yard: MaxMsgSize")
	if got.code == exitDone {
		t.Errorf("the doctor lets it pass: %s", got.out)
	}
	_ = s.stop()
	w := &ward{t: t, dir: string(s.place)}
	w.doctor(exitCorrupt, "WRONG store: ", "MaxMsgSize is 1048576, must be -1")
	w.refused(exitCorrupt, "MaxMsgSize is 1048576, must be -1")
}

// limit changes the floor's stream from outside.
func limit(t *testing.T, conn *nats.Conn, edit func(*jetstream.StreamConfig)) {
	t.Helper()
	js, err := jetstream.New(conn)
	must(t, err)
	stream, err := js.Stream(t.Context(), "floor-yard")
	must(t, err)
	cfg := stream.CachedInfo().Config
	edit(&cfg)
	_, err = js.UpdateStream(t.Context(), cfg)
	must(t, err)
}

// TestStoryOlderStore: the store was put back as it was an hour ago. Snapshot and
// auditor's checkpoint remember more, so no hub opens; the newer store in its
// place again, all is there.
func TestStoryOlderStore(t *testing.T) {
	w := newWard(t, filepath.Join(t.TempDir(), "floor"))
	older := filepath.Join(t.TempDir(), "older")
	must(t, os.CopyFS(older, os.DirFS(place(w.dir).store())))
	h := w.open(opening{})
	w.pack(h, 20)
	must(t, h.Close())
	newer := filepath.Join(t.TempDir(), "newer")
	must(t, os.Rename(place(w.dir).store(), newer))
	must(t, os.Rename(older, place(w.dir).store()))
	w.doctor(exitCorrupt, "the snapshot was made at frame 33; this log ends at frame 13: an older log was put back")
	got := give(t, "serve", "--listen", "127.0.0.1:0", "--data", w.dir)
	says(t, got.err, "the snapshot knows 33 frames, the log has 13: an older log was put back", "Stop. Keep the directory as it is")
	if got.code != exitCorrupt {
		t.Errorf("exit %d", got.code)
	}
	must(t, os.RemoveAll(place(w.dir).store()))
	must(t, os.Rename(newer, place(w.dir).store()))
	w.allThere()
}

func jsonBytes(t testing.TB, v any) []byte {
	t.Helper()
	b, err := json.Marshal(v)
	must(t, err)
	return b
}
