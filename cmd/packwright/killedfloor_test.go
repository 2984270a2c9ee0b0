package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"packwright/cmd/packwright/door"
	"packwright/workflow"
)

// killedFloor is a hub and its benches, each a process, of which one is killed
// again and again.
type killedFloor struct {
	*ward
	hub     *exec.Cmd
	benches [4]*killedBench
	kills   map[string]int
}

// killedBench sends commands in order, from the last that it heard answered.
type killedBench struct {
	no       int
	cmd      *exec.Cmd
	out      *lineBuffer
	answered int
}

// TestKilledFloor kills hub or bench with SIGKILL while all benches send. What
// was answered before is in the log, once; a bench that begins again where it
// stood is told "already", or its command is kept now.
//
//	go test ./cmd/packwright -run KilledFloor                      8 kills
//	PACKWRIGHT_LONG=1 go test ./cmd/packwright -run KilledFloor    200 kills
func TestKilledFloor(t *testing.T) {
	kills := 8
	if os.Getenv("PACKWRIGHT_LONG") != "" {
		kills = 200
	}
	seed := cutSeed()
	dice := rand.New(rand.NewPCG(seed, 4))
	f := &killedFloor{ward: newWard(t, t.TempDir()+"/floor"), kills: map[string]int{}}
	for i := range f.benches {
		f.benches[i] = &killedBench{no: i}
	}
	defer f.end()
	for range kills {
		f.up()
		f.underWay()
		time.Sleep(time.Duration(20+dice.IntN(230)) * time.Millisecond)
		if dice.IntN(2) == 0 {
			f.killHub()
		} else {
			f.killBench(f.benches[dice.IntN(len(f.benches))])
			f.kills["bench"]++
		}
		if t.Failed() {
			t.Fatalf("-seed %d, kills %v", seed, f.kills)
		}
	}
	f.end()
	f.allThere()
	sum := 0
	for _, b := range f.benches {
		sum += b.answered
	}
	t.Logf("-seed %d: kills %v; %d commands answered, none lost, none twice", seed, f.kills, sum)
	if sum < 5*kills {
		t.Error("too few commands were answered: the test proves nothing")
	}
}

// up starts what does not run.
func (f *killedFloor) up() {
	f.t.Helper()
	if f.hub == nil {
		f.hub = f.program("serve", "--listen", "127.0.0.1:0", "--data", f.dir)
		must(f.t, f.hub.Start())
		for until := time.Now().Add(30 * time.Second); ; time.Sleep(5 * time.Millisecond) {
			if _, err := os.Stat(place(f.dir).hubURL()); err == nil {
				break
			}
			if time.Now().After(until) {
				f.t.Fatal("the hub does not open")
			}
		}
	}
	for _, b := range f.benches {
		if b.cmd != nil {
			continue
		}
		b.cmd, b.out = f.program("do", "--url", place(f.dir).hubURL()), &lineBuffer{}
		b.cmd.Stdin, b.cmd.Stdout, b.cmd.Stderr = strings.NewReader(b.outbox()), b.out, nil
		must(f.t, b.cmd.Start())
	}
}

// underWay waits until every bench that runs has been answered something: on a
// slow machine a kill before that would hit nobody at work.
func (f *killedFloor) underWay() {
	f.t.Helper()
	until := time.Now().Add(30 * time.Second)
	for _, b := range f.benches {
		for b.out.lines() < 4 {
			if time.Now().After(until) {
				f.t.Fatalf("bench %d is not answered", b.no)
			}
			time.Sleep(time.Millisecond)
		}
	}
}

func (f *killedFloor) program(args ...string) *exec.Cmd {
	cmd := exec.Command(os.Args[0], append([]string{"--log", "error"}, args...)...)
	cmd.Env, cmd.Stderr = append(os.Environ(), asProgram+"=1"), os.Stderr
	return cmd
}

// outbox goes on from the last two that were answered.
func (b *killedBench) outbox() string {
	var out bytes.Buffer
	for n := max(1, b.answered-1); n < b.answered+600; n++ {
		lot := fmt.Sprintf("L-%d-%d", b.no, (n+1)/2)
		what, data := "announce", fmt.Sprintf(`{"lot":%q,"item":"TRY","owner":"house","qty":3}`, lot)
		if n%2 == 0 {
			what, data = "receive", fmt.Sprintf(`{"lot":%q,"tote":"T%s","qty":3}`, lot, lot)
		}
		fmt.Fprintf(&out, `{"id":"%s","type":%q,"badge":"odile","data":%s}`+"\n", b.id(n), what, data)
	}
	return out.String()
}

func (b *killedBench) id(n int) string { return fmt.Sprintf("BOARD/killed%d/%d", b.no, n) }

// killHub kills the hub, and then the benches, which would wait for it.
func (f *killedFloor) killHub() {
	f.t.Helper()
	kill(f.hub)
	f.hub = nil
	f.kills["hub"]++
	must(f.t, os.Remove(place(f.dir).hubURL())) // it had no time for that
	for _, b := range f.benches {
		f.killBench(b)
	}
}

// killBench kills a bench and reads what it was answered.
func (f *killedFloor) killBench(b *killedBench) {
	f.t.Helper()
	if b.cmd == nil {
		return
	}
	kill(b.cmd)
	b.cmd = nil
	for line := range strings.Lines(b.out.b.String()) {
		var a door.Answer
		if json.Unmarshal([]byte(line), &a) != nil || !a.Answered() {
			break // it was writing this line, or the hub was gone
		}
		if a.Outcome != workflow.Kept && a.Outcome != workflow.Already {
			f.t.Errorf("bench %d: %+v", b.no, a)
			return
		}
		f.kept[a.ID] = true
		if a.ID == b.id(b.answered+1) {
			b.answered++
		}
	}
}

func kill(cmd *exec.Cmd) {
	_ = cmd.Process.Kill()
	_ = cmd.Wait() // killed, as it should be
}

// end ends whatever still runs.
func (f *killedFloor) end() {
	if f.hub != nil {
		kill(f.hub)
		f.hub = nil
		if err := os.Remove(place(f.dir).hubURL()); err != nil && !errors.Is(err, fs.ErrNotExist) {
			f.t.Error(err)
		}
	}
	for _, b := range f.benches {
		f.killBench(b)
	}
}
