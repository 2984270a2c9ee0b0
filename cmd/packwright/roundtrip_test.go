package main

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"path/filepath"
	"strings"
	"testing"
	"testing/synctest"

	"packwright/audit/follow"
	"packwright/events"
	"packwright/events/backup"
	"packwright/events/memlog"
	"packwright/prep"
	"packwright/testdata/floors"
	"packwright/workflow"
)

// roundTrips takes a log through a backup and through JSON lines: the frames come
// back byte for byte from the one, and from both the same roots and cells after
// every frame, as the auditor reads them.
func roundTrips(t *testing.T, floor string, log *memlog.Log) {
	t.Helper()
	ctx := context.Background()
	var file, lines bytes.Buffer
	h := backup.Header{Floor: floor, Currency: prep.Currency{Code: "EUR", Digits: 2}}
	_, sums, err := backup.Write(ctx, &file, log, h, nil)
	if err != nil {
		t.Fatal(err)
	}
	var whole, made [][]byte
	if _, again, err := backup.Read(bytes.NewReader(file.Bytes()), func(_ uint64, frame []byte) error { whole = append(whole, frame); return nil }); err != nil || again != sums {
		t.Fatalf("%+v, %v", again, err)
	}
	for i, frame := range log.Frames() {
		if !bytes.Equal(frame, whole[i]) {
			t.Fatalf("frame %d came back otherwise", i+1)
		}
	}
	if n, err := backup.WriteLines(ctx, &lines, log, floor); err != nil || n != sums.Events {
		t.Fatalf("%d events of %d, %v", n, sums.Events, err)
	}
	m := &framing{floor: workflow.NewFloor(workflow.DefaultPolicy())}
	err = backup.ReadLines(&lines, func(seq uint64, lines [][]byte) error {
		frame, err := m.frame(seq, lines)
		made = append(made, frame)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	sameAtEveryFrame(t, whole, made)
}

func sameAtEveryFrame(t *testing.T, whole, made [][]byte) {
	t.Helper()
	a, b := follow.New(), follow.New()
	if len(whole) != len(made) {
		t.Fatalf("%d frames, and %d from lines", len(whole), len(made))
	}
	for i := range whole {
		_, err1 := a.Take(uint64(i+1), whole[i])
		_, err2 := b.Take(uint64(i+1), made[i])
		if err1 != nil || err2 != nil || a.Checkpoint() != b.Checkpoint() {
			t.Fatalf("frame %d: %+v and %+v; %v, %v", i+1, a.Checkpoint(), b.Checkpoint(), err1, err2)
		}
	}
}

// TestRandomFloorsRoundTrip takes random days through both forms.
func TestRandomFloorsRoundTrip(t *testing.T) {
	for _, seed := range []uint64{3, 17, 29} {
		dir := t.TempDir()
		synctest.Test(t, func(t *testing.T) {
			d := floors.New(seed)
			tr := newTrial(t, d, dir)
			defer tr.end()
			d.Play(tr)
			if tr.events < 100 {
				t.Fatalf("a day of %d events", tr.events)
			}
			roundTrips(t, floors.Floor, tr.log.Copy())
		})
	}
}

// TestDemoRoundTrip takes the demo's day through the commands themselves: backup
// and restore, export and import give floors of one root, state and board.
func TestDemoRoundTrip(t *testing.T) {
	dir := t.TempDir()
	at := func(name string) string { return filepath.Join(dir, name) }
	command := func(args ...string) string {
		t.Helper()
		var out bytes.Buffer
		if code := run(t.Context(), &streams{strings.NewReader(""), &out, t.Output()}, append([]string{"--log", "error"}, args...)); code != 0 {
			t.Fatalf("%v: exit %d", args, code)
		}
		return out.String()
	}
	command("demo", "--check", "--data", at("demo"))
	command("--data", at("demo"), "backup", at("day.backup"))
	command("--data", at("demo"), "export", "events", "--out", at("day.jsonl"))
	command("--data", at("restored"), "restore", at("day.backup"))
	command("--data", at("imported"), "import", "events", at("day.jsonl"))
	type proven struct {
		OK      bool `json:"ok"`
		Verdict struct {
			Events             int64
			Root, Cells, Floor string
		} `json:"verdict"`
		Rebuilt struct {
			Digest string
			Last   events.Seq
		} `json:"rebuilt"`
	}
	var want proven
	board := command("--data", at("demo"), "board", "--at", "17:41")
	for i, name := range []string{"demo", "restored", "imported"} {
		var got proven
		if err := json.NewDecoder(strings.NewReader(command("--data", at(name), "--json", "verify", "--rebuild"))).Decode(&got); err != nil && err != io.EOF {
			t.Fatal(err)
		}
		if i == 0 {
			want = got
		}
		if !got.OK || got != want || got.Verdict.Events < 700 || got.Rebuilt.Digest == "" {
			t.Errorf("%s: %+v, want %+v", name, got, want)
		}
		if b := command("--data", at(name), "board", "--at", "17:41"); b != board {
			t.Errorf("%s: another board:\n%s", name, b)
		}
	}
}
