package bench

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"runtime"
	"testing"
	"time"

	"github.com/nats-io/nats-server/v2/server"

	"packwright/audit/follow"
	"packwright/events/natslog"
	"packwright/testdata/floors"
	"packwright/workflow"
)

// moment is the commands that reached a floor at one moment of its days.
type moment struct {
	Now  time.Time          `json:"now"`
	Cmds []workflow.Command `json:"cmds"`
}

// script is a floor's days as they were played, each moment as JSON: what a hub gets.
type script struct {
	policy  *workflow.Policy
	moments [][]byte
	events  int
}

// recording is a door that writes down what comes through it.
type recording struct {
	*floors.Desk
	s *script
}

func (r recording) Do(now time.Time, cmds []workflow.Command) []floors.Answer {
	line, err := json.Marshal(moment{now, cmds})
	if err != nil {
		panic(err)
	}
	r.s.moments = append(r.s.moments, line)
	return r.Desk.Do(now, cmds)
}

// scripts plays the days of n floors.
func scripts(n int) []*script {
	out := make([]*script, n)
	for i := range out {
		day, days := floors.New(uint64(i+1)), 0
		out[i] = &script{policy: day.Policy}
		desk := floors.NewDesk(day.Policy, func(uint64, []byte) error { return nil })
		day.PlayOn(recording{desk, out[i]}, func() bool { days++; return days < manyDays })
		out[i].events = desk.Events
	}
	return out
}

// livedFloor is one floor of a hub.
type livedFloor struct {
	desk  *floors.Desk
	books *follow.Follower
	log   *natslog.Log // nil: without a disk
}

// newLivedFloor founds a floor; its frames go to the bus at the address given, if any.
func newLivedFloor(b *testing.B, p *workflow.Policy, name, bus string) *livedFloor {
	f := &livedFloor{books: follow.New()}
	if bus != "" {
		log, err := natslog.Open(context.Background(), natslog.Config{Floor: name, URL: bus})
		if err != nil {
			b.Fatal(err)
		}
		f.log = log
	}
	f.desk = floors.NewDesk(p, func(seq uint64, frame []byte) error {
		if f.log != nil {
			if err := f.log.Append(context.Background(), seq-1, frame); err != nil {
				return err
			}
		}
		_, err := f.books.Take(seq, frame)
		return err
	})
	return f
}

// oneBus is the bus of a hub with all its floors' streams, each write synced.
func oneBus(b *testing.B, dir string) *server.Server {
	b.Helper()
	s, err := server.NewServer(&server.Options{Port: -1, JetStream: true, StoreDir: dir, SyncAlways: true, NoLog: true, NoSigs: true, MaxPayload: 8 << 20})
	if err != nil {
		b.Fatal(err)
	}
	s.Start()
	if !s.ReadyForConnections(10 * time.Second) {
		b.Fatal("the bus did not start")
	}
	return s
}

// hubLife is how floors of one hub live: so many at once, so many moments of each in
// turn, their frames kept on disk or not.
type hubLife struct {
	atOnce, turn int
	kept         bool
}

// liveInGroups lives through all scripts, some at once: moments of each in turn are
// read, decided, applied, framed, kept and audited. It gives the processor time in
// seconds; opening and closing stores is not in it.
func liveInGroups(b *testing.B, all []*script, life hubLife) (used float64) {
	b.Helper()
	n, turn, bus := life.atOnce, life.turn, ""
	if life.kept {
		dir := b.TempDir()
		s := oneBus(b, dir)
		bus = s.ClientURL()
		defer func() { s.Shutdown(); s.WaitForShutdown(); os.RemoveAll(dir) }()
	}
	for i := 0; i < len(all); i += n {
		group := make([]*livedFloor, n)
		for k := range group {
			group[k] = newLivedFloor(b, all[i+k].policy, fmt.Sprintf("f-%d", i+k), bus)
		}
		runtime.GC()
		before := cpu()
		for from, left := 0, n; left > 0; from += turn {
			left = 0
			for k, f := range group {
				s := all[i+k]
				for _, line := range s.moments[min(from, len(s.moments)):min(from+turn, len(s.moments))] {
					var m moment
					if err := json.Unmarshal(line, &m); err != nil {
						b.Fatal(err)
					}
					f.desk.Do(m.Now, m.Cmds)
					left++
				}
			}
		}
		used += (cpu() - before).Seconds()
		for k, f := range group {
			if f.desk.Events != all[i+k].events {
				b.Fatalf("floor %d: %d events, %d when it was played", i+k+1, f.desk.Events, all[i+k].events)
			}
			if f.log != nil {
				f.log.Close()
			}
		}
	}
	return used
}

// livedFloors prints what an event costs in all: decoded command, decision, frame, audit;
// and the same with the frame on disk before it is audited, as a hub does, all floors on one bus.
func livedFloors(b *testing.B) {
	all := scripts(atOnce[len(atOnce)-1])
	events := 0
	for _, s := range all {
		events += s.events
	}
	fmt.Printf("Lived: %d random days each, %s events in all, so many moments of each floor in turn.\n\n"+
		"| | floors at once | moments a turn | CPU an event | beside one |\n|:--|--:|--:|--:|--:|\n", manyDays, thousands(float64(events)))
	rows := func(what string, rounds int, lives ...hubLife) {
		cost := make([][]float64, len(lives))
		for range rounds {
			for k, l := range lives {
				cost[k] = append(cost[k], liveInGroups(b, all, l)*1e6/float64(events))
			}
		}
		for k, l := range lives {
			fmt.Printf("| %s | %d | %d | %.2f µs | %s |\n", what, l.atOnce, l.turn, median(cost[k]), beside(cost[k], cost[0]))
		}
	}
	rows("decided, framed, kept on disk, audited", keptRounds, hubLife{1, 1, true}, hubLife{4, 1, true}, hubLife{16, 1, true})
	rows("decided, framed, audited", manyRounds, hubLife{1, 1, false}, hubLife{4, 1, false}, hubLife{16, 1, false}, hubLife{16, 8, false}, hubLife{16, 64, false})
}
