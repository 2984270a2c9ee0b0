package follow_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"packwright/audit"
	"packwright/audit/follow"
	"packwright/events"
	"packwright/events/memlog"
	"packwright/events/proof"
)

// receipts writes a log of n frames, each receiving i units of a lot into a tote,
// one minute apart from 08:00, with headers that are true.
func receipts(t testing.TB, n int) [][]byte {
	t.Helper()
	var tree proof.Tree
	var cells events.Digest
	var out [][]byte
	start := time.Date(2031, 3, 4, 8, 0, 0, 0, time.UTC)
	for i := 1; i <= n; i++ {
		when := events.At(start.Add(time.Duration(i) * time.Minute))
		var list []events.Event
		for k := range 2 { // two events a frame
			lot := fmt.Sprintf("L-%02d", k)
			list = append(list, events.Event{Cause: fmt.Sprintf("ST-%d/1/%d", k, i), Station: fmt.Sprintf("ST-%d", k), At: when, Recorded: when.Add(time.Duration(k) * time.Second), Basis: events.Scan,
				Data: &events.LotReceived{Lot: lot, Item: "MG3", Tote: "T-1", Qty: i}})
			cells.Add(events.Cell{Lot: lot, Item: "MG3", Stage: events.Received, Place: "T-1"}.Hash(), i)
		}
		var lines [][]byte
		for k := range list {
			line, err := events.Encode(nil, &list[k])
			if err != nil {
				t.Fatal(err)
			}
			lines = append(lines, line)
		}
		frame, err := events.EncodeFrame(events.Header{Frame: fmt.Sprint("W-", i), Floor: "yard", Size: tree.Size, Root: tree.Root(), Cells: cells}, lines)
		if err != nil {
			t.Fatal(err)
		}
		for _, l := range lines {
			tree.Add(l)
		}
		out = append(out, frame)
	}
	return out
}

func caught(t testing.TB, frames [][]byte) *follow.Follower {
	t.Helper()
	r := follow.New()
	if err := r.CatchUp(t.Context(), memlog.New(frames...)); err != nil {
		t.Fatal(err)
	}
	return r
}

func TestCatchUp(t *testing.T) {
	frames := receipts(t, 9)
	r := caught(t, frames)
	c := r.Checkpoint()
	if c.Seq != 9 || c.Size != 18 {
		t.Errorf("%+v", c)
	}
	r.View(func(f *audit.Fold) {
		if f.Digest() != c.Cells || f.Last() != (events.Seq{Frame: 9, Index: 1}) || f.Balances()[0].Sum != 45 {
			t.Errorf("%s, %v", f.Last(), f.Balances())
		}
	})
	// Once more, and frames from before: nothing changes.
	if err := r.CatchUp(t.Context(), memlog.New(frames...)); err != nil || r.Checkpoint() != c {
		t.Errorf("%+v, %v", r.Checkpoint(), err)
	}
	if _, err := r.Take(3, frames[2]); err != nil || r.Checkpoint() != c {
		t.Errorf("a frame read before: %v", err)
	}
	if empty := follow.New().Checkpoint(); empty.Seq != 0 || empty.Size != 0 {
		t.Errorf("%+v", empty)
	}
}

// TestFollow: a follower that runs beside a writer sees every frame once, in
// order, and ends when it is told to.
func TestFollow(t *testing.T) {
	frames := receipts(t, 40)
	log := memlog.New(frames[:10]...)
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	r := follow.New()
	var mu sync.Mutex
	var seen []uint64
	done := make(chan error, 1)
	all := make(chan struct{})
	go func() {
		done <- r.Follow(ctx, log, func(f follow.Frame) {
			mu.Lock()
			defer mu.Unlock()
			seen = append(seen, f.Seq)
			if len(f.Events) != 2 || f.Header.Floor != "yard" {
				t.Errorf("frame %d: %d events of %q", f.Seq, len(f.Events), f.Header.Floor)
			}
			if f.Seq == 40 {
				close(all)
			}
		})
	}()
	for i := 10; i < 40; i++ {
		if err := log.Append(ctx, uint64(i), frames[i]); err != nil {
			t.Fatal(err)
		}
		r.View(func(f *audit.Fold) { f.Balances() })
	}
	select {
	case <-all:
	case <-time.After(10 * time.Second):
		t.Fatal("the frames did not come")
	}
	stop()
	if err := <-done; err != nil {
		t.Errorf("Follow ended with %v", err)
	}
	for i, s := range seen {
		if s != uint64(i+1) {
			t.Fatalf("frames came as %v", seen)
		}
	}
}

// TestCorrupt: whatever is wrong with a frame, it is named, and the follower says
// the same from then on.
func TestCorrupt(t *testing.T) {
	good := receipts(t, 8)
	replaced := func(at int, old, with string) [][]byte {
		out := append([][]byte(nil), good...)
		out[at-1] = []byte(strings.Replace(string(out[at-1]), old, with, 1))
		if bytes.Equal(out[at-1], good[at-1]) {
			t.Fatalf("%q is not in frame %d", old, at)
		}
		return out
	}
	for name, c := range map[string]struct {
		frames [][]byte
		at     int
	}{
		"an event changed":       {replaced(5, `"qty":5`, `"qty":6`), 5},                       // the cells tell at once
		"a word changed":         {replaced(5, `"cause":"ST-0/1/5"`, `"cause":"ST-0/1/6"`), 6}, // the next frame tells
		"an unknown event":       {replaced(5, `"type":"lot.received"`, `"type":"lot.recieved"`), 5},
		"a frame lost":           {append(append([][]byte(nil), good[:4]...), good[5:]...), 5},
		"a frame of another log": {replaced(5, `"of":"yard"`, `"of":"shed"`), 5},
		"no frame at all":        {replaced(5, "{", "x"), 5},
		"cut short":              {append(append([][]byte(nil), good[:4]...), good[4][:len(good[4])-9]), 5},
	} {
		r := follow.New()
		err := r.CatchUp(t.Context(), memlog.New(c.frames...))
		if !errors.Is(err, events.ErrCorrupt) || !strings.Contains(err.Error(), fmt.Sprintf("frame %d", c.at)) {
			t.Errorf("%s: %v, want it named at frame %d", name, err, c.at)
		}
		if r.Err() == nil || !errors.Is(r.Save(&bytes.Buffer{}), events.ErrCorrupt) {
			t.Errorf("%s: a follower that has stopped still saves", name)
		}
		if _, err := r.Take(uint64(c.at), good[c.at-1]); !errors.Is(err, events.ErrCorrupt) {
			t.Errorf("%s: it reads on: %v", name, err)
		}
	}
}

// TestUntil cuts by recorded, also within a frame.
func TestUntil(t *testing.T) {
	log := memlog.New(receipts(t, 9)...)
	for clock, want := range map[string]int64{"08:00:59": 0, "08:01:00": 1, "08:01:01": 2, "08:04:59": 8, "08:05:00": 9, "23:00:00": 18} {
		m, err := events.ParseTime("2031-03-04T" + clock + "Z")
		if err != nil {
			t.Fatal(err)
		}
		f, err := follow.Until(t.Context(), log, m)
		if err != nil || f.Events() != want {
			t.Errorf("until %s: %d events, %v; want %d", clock, f.Events(), err, want)
		}
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := follow.Until(ctx, log, events.Time{}); err == nil {
		t.Error("a reading that was called off gave a fold")
	}
}

func TestRestore(t *testing.T) {
	frames := receipts(t, 9)
	r := caught(t, frames[:6])
	var file bytes.Buffer
	if err := r.Save(&file); err != nil {
		t.Fatal(err)
	}
	again, err := follow.Restore(bytes.NewReader(file.Bytes()))
	if err != nil || again.Checkpoint() != r.Checkpoint() {
		t.Fatalf("%+v, %v", again, err)
	}
	if err := again.CatchUp(t.Context(), memlog.New(frames...)); err != nil {
		t.Fatal(err)
	}
	if whole := caught(t, frames).Checkpoint(); again.Checkpoint() != whole {
		t.Errorf("tail on a checkpoint: %+v, from event 1: %+v", again.Checkpoint(), whole)
	}
	if err := follow.Rebuilt(t.Context(), memlog.New(frames...), r.Checkpoint()); err != nil {
		t.Error(err)
	}
	wrong := r.Checkpoint()
	wrong.Cells[0]++
	if err := follow.Rebuilt(t.Context(), memlog.New(frames...), wrong); !errors.Is(err, events.ErrCorrupt) {
		t.Errorf("a checkpoint of other cells: %v", err)
	}
	if err := follow.Behind(t.Context(), memlog.New(frames[:5]...), r.Checkpoint()); !errors.Is(err, events.ErrCorrupt) {
		t.Errorf("a log that lost its end: %v", err)
	}
	if err := follow.Behind(t.Context(), memlog.New(frames[:6]...), r.Checkpoint()); err != nil {
		t.Error(err)
	}
	for cut := 0; cut < file.Len(); cut += 41 {
		if _, err := follow.Restore(bytes.NewReader(file.Bytes()[:cut])); err == nil {
			t.Fatalf("the first %d bytes of a checkpoint were taken", cut)
		}
	}
}

// TestRestoreOfAnotherLog: a checkpoint of a log that went another way is found
// out by the next frame.
func TestRestoreOfAnotherLog(t *testing.T) {
	var file bytes.Buffer
	if err := caught(t, receipts(t, 6)).Save(&file); err != nil {
		t.Fatal(err)
	}
	r, err := follow.Restore(&file)
	if err != nil {
		t.Fatal(err)
	}
	other := receipts(t, 9)
	other[6] = bytes.Replace(other[6], []byte(`"root":"`), []byte(`"root":"0`), 1)
	if err := r.CatchUp(t.Context(), memlog.New(other...)); !errors.Is(err, events.ErrCorrupt) {
		t.Errorf("%v", err)
	}
}

// TestRestoreOfAnEmptyLog: a follower that has read nothing is saved as well.
func TestRestoreOfAnEmptyLog(t *testing.T) {
	var file bytes.Buffer
	if err := follow.New().Save(&file); err != nil {
		t.Fatal(err)
	}
	r, err := follow.Restore(&file)
	if err != nil {
		t.Fatal(err)
	}
	if err := r.CatchUp(t.Context(), memlog.New(receipts(t, 3)...)); err != nil || r.Checkpoint().Seq != 3 {
		t.Errorf("%+v, %v", r.Checkpoint(), err)
	}
}

func TestVerifyStopsAtTheFirstBadFrame(t *testing.T) {
	frames := receipts(t, 8)
	var last uint64
	v, err := follow.Verify(t.Context(), memlog.New(frames...), func(seq uint64) { last = seq })
	if err != nil || !v.OK() || v.Frames != 8 || v.Events != 16 || last != 8 || v.Laws == 0 {
		t.Errorf("%+v, %v", v, err)
	}
	frames[4] = bytes.Replace(frames[4], []byte(`"qty":5`), []byte(`"qty":4`), 1)
	v, err = follow.Verify(t.Context(), memlog.New(frames...), nil)
	if !errors.Is(err, events.ErrCorrupt) || v.Frames >= 6 {
		t.Errorf("%d frames believed, %v", v.Frames, err)
	}
}

// TestErrInView: whoever looks may ask whether the log is believed, also while a
// frame waits to be read.
func TestErrInView(t *testing.T) {
	r := follow.New()
	r.View(func(*audit.Fold) {
		began := make(chan struct{})
		go func() {
			close(began)
			_, _ = r.Take(1, []byte("no frame"))
		}()
		<-began
		time.Sleep(20 * time.Millisecond) // Take waits for the lock now
		answered := make(chan error, 1)
		go func() { answered <- r.Err() }()
		select {
		case err := <-answered:
			if err != nil {
				t.Errorf("before the frame is read: %v", err)
			}
		case <-time.After(5 * time.Second):
			t.Fatal("Err waits for the frame, and the frame for the one who looks")
		}
	})
	for r.Err() == nil {
		time.Sleep(time.Millisecond)
	}
}
