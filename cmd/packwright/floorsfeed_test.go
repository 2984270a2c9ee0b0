package main

import (
	"testing"
	"time"

	"packwright/audit/follow"
	"packwright/events"
	"packwright/events/memlog"
	"packwright/testdata/floors"
	"packwright/workflow"
)

// TestFeed: the feed that measurements live on is all kept, mostly placements,
// as large as it says, the same from the same seed, and lawful; and the floor
// that went through it remembers little.
func TestFeed(t *testing.T) {
	const perFrame, want = 32, 30_000
	log := memlog.New()
	size, frames, err := floors.WriteLog(t.Context(), log, 7, want, perFrame)
	if err != nil {
		t.Fatal(err)
	}
	if size < want || size > want+2*perFrame || frames < uint64(size)/(perFrame+1) {
		t.Errorf("%d events in %d frames, asked were %d of %d", size, frames, want, perFrame)
	}
	v, err := follow.Verify(t.Context(), log, nil)
	if err != nil || len(v.Breaches) > 0 || v.Events != int64(size) {
		t.Errorf("verify: %v %v, %d events", err, v.Breaches, v.Events)
	}
	again := memlog.New()
	if _, _, err := floors.WriteLog(t.Context(), again, 7, want, perFrame); err != nil {
		t.Fatal(err)
	}
	for i, f := range log.Frames() {
		if string(f) != string(again.Frames()[i]) {
			t.Fatalf("frame %d differs the second time", i+1)
		}
	}

	all := floors.Load(7, want)
	placed := 0
	for _, c := range all {
		if c.Type == "place" {
			placed++
		}
	}
	if placed*100 < len(all)*70 {
		t.Errorf("%d of %d commands are placements", placed, len(all))
	}
	if n := len(floors.NewFeed(7).Prologue()); n != 198 {
		t.Errorf("the prologue is %d commands", n)
	}
}

// TestDaysOnEnd: further days on one floor are lawful, the same from the same
// seed, and begin with the day that Play plays.
func TestDaysOnEnd(t *testing.T) {
	play := func(days int) *memlog.Log {
		log := memlog.New()
		d := floors.New(11)
		k := floors.NewDesk(d.Policy, func(seq uint64, frame []byte) error { return log.Append(t.Context(), seq-1, frame) })
		d.PlayOn(k, func() bool { days--; return days > 0 })
		return log
	}
	one, four, again := play(1).Frames(), play(4), play(4).Frames()
	v, err := follow.Verify(t.Context(), four, nil)
	if err != nil || len(v.Breaches) > 0 || len(four.Frames()) < 3*len(one) {
		t.Errorf("verify: %v %v; %d frames in four days, %d in the first", err, v.Breaches, len(four.Frames()), len(one))
	}
	for i, f := range four.Frames() {
		if string(f) != string(again[i]) || i < len(one) && string(f) != string(one[i]) {
			t.Fatalf("frame %d differs", i+1)
		}
	}
}

// TestFeedRounds counts the rounds of one bench, and what the floor keeps of them.
func TestFeedRounds(t *testing.T) {
	f, clock := workflow.NewFloor(nil), 0
	give := func(c workflow.Command) int {
		clock++
		dec, err := workflow.Decide(f, &c, events.At(time.Date(2031, 3, 1, 6, 0, clock, 0, time.UTC)))
		if err != nil || dec.Outcome != workflow.Kept {
			t.Fatalf("%s %s %s: %v %v %v", c.ID, c.Type, c.Data, dec.Outcome, dec.Refusal, err)
		}
		for i := range dec.Events {
			dec.Events[i].Seq.Frame, dec.Events[i].Seq.Index = uint64(clock), i
			if err := f.Apply(&dec.Events[i]); err != nil {
				t.Fatal(err)
			}
		}
		return len(dec.Events)
	}
	feed := floors.NewFeed(3)
	n := 0
	for _, c := range feed.Prologue() {
		n += give(c)
	}
	if n != 200 {
		t.Errorf("the prologue gives %d events", n)
	}
	round, commands, got := 0, 0, 0
	for c := range feed.Bench(5) {
		commands, got = commands+1, got+give(c)
		if c.Type != "close-load" {
			continue
		}
		wantC, wantE := 126, 127
		if round++; round%3 == 0 {
			wantC, wantE = 133, 134
		}
		if commands != wantC || got != wantE {
			t.Errorf("round %d: %d commands, %d events", round, commands, got)
		}
		if len(f.Lots)+len(f.Runs)+len(f.Cartons)+len(f.Plans)+len(f.Loads)+len(f.Units) > 0 {
			t.Errorf("round %d left %d lots, %d runs, %d cartons, %d plans, %d units", round, len(f.Lots), len(f.Runs), len(f.Cartons), len(f.Plans), len(f.Units))
		}
		if commands, got = 0, 0; round == 7 {
			return
		}
	}
}
