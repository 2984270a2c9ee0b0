package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/rs/zerolog"

	"packwright/audit/follow"
	"packwright/events"
	"packwright/events/memlog"
	"packwright/prep"
	"packwright/testdata/floors"
	"packwright/testdata/floors/plain"
	"packwright/workflow"
	"packwright/workflow/engine"
)

// trial is a day's door: an engine on a log in bad weather, and those who watch it.
type trial struct {
	t       *testing.T
	d       *floors.Day
	dice    *floors.Dice
	clock   time.Time
	log     *memlog.Log
	engine  *engine.Engine
	snaps   string // where snapshots go; empty: none are made
	dir     string
	every   int64
	storm   *storm
	storms  map[string]int
	deaths  int
	batches int
	broken  bool // something was found; the day goes on unwatched

	model  *plain.Model
	books  *follow.Follower
	read   uint64 // frames read
	events int
	cmds   map[string]workflow.Command
	first  map[string]events.Seq // command → where it stands
	says   map[string]events.Data
	lines  map[events.Seq]string
	story  []string
}

func newTrial(t *testing.T, d *floors.Day, dir string) *trial {
	tr := &trial{t: t, d: d, dice: floors.NewDice(d.Seed ^ 0xd00f), dir: dir, storms: map[string]int{}, model: plain.New(d.House),
		books: follow.New(), cmds: map[string]workflow.Command{}, first: map[string]events.Seq{}, says: map[string]events.Data{}, lines: map[events.Seq]string{}}
	tr.books.WatchLaws()
	switch {
	case tr.dice.Percent(4):
		tr.every = int64(tr.dice.Between(3, 12))
	case tr.dice.Percent(35):
		tr.every = int64(tr.dice.Between(30, 150))
	}
	tr.open(memlog.New())
	return tr
}

// open starts an engine on a log; it may use the snapshot that was made last.
func (tr *trial) open(log *memlog.Log) {
	if tr.every > 0 {
		old, dir := tr.snaps, filepath.Join(tr.dir, fmt.Sprint(tr.deaths))
		tr.snaps = dir
		if err := os.MkdirAll(dir, 0o755); err != nil {
			tr.t.Fatal(err)
		}
		if old != "" && tr.dice.Percent(80) {
			tr.copySnapshot(old, dir)
		}
	}
	tr.log = log
	log.Fault = tr.fault
	e, err := engine.Open(context.Background(), engine.Config{Log: log, Floor: floors.Floor, Policy: tr.d.Policy, Now: func() time.Time { return tr.clock },
		Snapshot: tr.snaps, Every: tr.every, Logger: zerolog.Nop(),
		Panicked: func(c workflow.Command, what any, stack []byte) {
			tr.t.Errorf("seed %d: deciding %s %s panicked: %v\n%s", tr.d.Seed, c.Type, c.Data, what, stack)
		}})
	if err != nil {
		tr.t.Fatalf("seed %d: %v", tr.d.Seed, err)
	}
	tr.engine = e
}

// copySnapshot brings what a crash would leave of a snapshot to the next life.
func (tr *trial) copySnapshot(from, to string) {
	files, err := os.ReadDir(from)
	if err != nil {
		tr.t.Fatal(err)
	}
	for _, f := range files {
		b, err := os.ReadFile(filepath.Join(from, f.Name()))
		if err == nil {
			err = os.WriteFile(filepath.Join(to, f.Name()), b, 0o644)
		}
		if err != nil {
			tr.t.Fatal(err)
		}
	}
}

func (tr *trial) end() {
	tr.storm = nil
	if err := tr.engine.Close(); err != nil && !tr.t.Failed() {
		tr.t.Errorf("seed %d: close: %v", tr.d.Seed, err)
	}
}

// Look shows the working floor.
func (tr *trial) Look(fn func(*workflow.Floor)) {
	if err := tr.engine.View(context.Background(), fn); err != nil {
		tr.t.Fatalf("seed %d: %v", tr.d.Seed, err)
	}
}

// storm is what befalls the appends of one batch.
type storm struct {
	name string
	when memlog.When
	err  error // what the writer hears
	skip int   // appends that pass before
	n    int   // appends it befalls
	gate chan struct{}
	hit  bool
}

// fault is the log's: it asks the storm that blows now.
func (tr *trial) fault(_ int, when memlog.When) error {
	s := tr.storm
	if s == nil || when != s.when || s.n == 0 {
		return nil
	}
	if s.skip > 0 {
		s.skip--
		return nil
	}
	s.n--
	s.hit = true
	if s.gate != nil {
		<-s.gate
	}
	return s.err
}

// weather chooses a storm for a batch; mostly there is none.
func (tr *trial) weather() *storm {
	if tr.batches < 3 {
		return nil
	}
	at := func(name string, when memlog.When, err error, n int, waits bool) *storm {
		s := &storm{name: name, when: when, err: err, n: n, skip: tr.dice.Below(2)}
		if waits {
			s.gate = make(chan struct{})
		}
		return s
	}
	switch x := tr.dice.Below(1000); {
	case x < 180:
		s := at("slow", memlog.Before, nil, 1, true)
		s.skip = 0
		return s
	case x < 200:
		return at("lost before", memlog.Before, memlog.ErrLost, tr.dice.Between(1, 4), false)
	case x < 220:
		return at("lost after", memlog.After, memlog.ErrLost, tr.dice.Between(1, 4), false)
	case x < 226:
		return at("full", memlog.Before, memlog.ErrFull, 6, false)
	case x < 232:
		return at("never answered", memlog.After, memlog.ErrLost, 6, false)
	case x < 240:
		return at("crash before", memlog.Before, memlog.ErrFenced, 1, true)
	case x < 250:
		return at("crash after", memlog.After, memlog.ErrFenced, 1, true)
	case x < 254:
		return at("fenced", memlog.Before, memlog.ErrFenced, 1, false)
	case x < 259:
		return &storm{name: "crash idle"}
	}
	return nil
}

// Do gives the commands of one moment, in whatever weather there is.
func (tr *trial) Do(now time.Time, cmds []workflow.Command) []floors.Answer {
	tr.clock = now
	tr.batches++
	for _, c := range cmds {
		tr.cmds[c.ID] = c
	}
	guess := tr.foresee(&cmds[0])
	s := tr.weather()
	if s != nil && s.name == "crash idle" {
		tr.die(tr.log.Copy())
		tr.storms[s.name]++
		s = nil
	}
	tr.storm = s
	out := tr.give(cmds, s)
	tr.storm = nil
	if s != nil && s.hit {
		tr.storms[s.name]++
	}
	if err := tr.engine.Err(); err != nil { // fenced: stand up again on the same log
		if !errors.Is(err, events.ErrFenced) {
			tr.found("the engine stopped: %v", err)
		}
		tr.die(tr.log)
	}
	tr.watch(cmds, out, guess)
	return out
}

// give sends the commands: one after the other, or, while the disk is slow or
// about to die, each as soon as the one before was judged, so that they share frames.
func (tr *trial) give(cmds []workflow.Command, s *storm) []floors.Answer {
	out := make([]floors.Answer, len(cmds))
	if s == nil || s.gate == nil {
		for i, c := range cmds {
			out[i] = tr.ask(tr.engine, c)
		}
		return out
	}
	answered := make([]bool, len(cmds))
	e := tr.engine
	for i, c := range cmds {
		go func() {
			out[i] = tr.ask(e, c)
			answered[i] = true
		}()
		synctest.Wait()
	}
	if s.name == "slow" || !s.hit {
		close(s.gate)
		synctest.Wait()
		return out
	}
	left := tr.log.Copy() // what a crash at this instant leaves
	heard := make([]floors.Answer, len(cmds))
	for i := range cmds {
		if heard[i].Err = errDied; answered[i] {
			heard[i] = out[i]
		}
	}
	tr.die(left)
	close(s.gate)
	synctest.Wait()
	return heard
}

var errDied = errors.New("the engine died")

// die opens a new engine on what a crash left. The old one never writes again.
func (tr *trial) die(left *memlog.Log) {
	old := tr.engine
	tr.deaths++
	tr.open(left)
	go func() { _ = old.Close() }()
}

// ask gives one command and reads its answer as a bench would.
func (tr *trial) ask(e *engine.Engine, c workflow.Command) floors.Answer {
	a, err := e.Do(context.Background(), c)
	var bad *prep.InputError
	switch {
	case errors.As(err, &bad):
		return floors.Answer{Outcome: workflow.No, Code: "input"}
	case err != nil:
		return floors.Answer{Err: err}
	}
	got := floors.Answer{Outcome: a.Outcome}
	if a.Refusal != nil {
		got.Code = a.Refusal.Code
	}
	if a.Seq != nil {
		got.Seq = *a.Seq
	}
	return got
}

// told gives the story of the day, or the end of it.
func (tr *trial) told(end bool) string {
	lines := tr.story
	if end {
		lines = lines[max(0, len(lines)-15):]
	}
	return strings.Join(lines, "\n")
}
