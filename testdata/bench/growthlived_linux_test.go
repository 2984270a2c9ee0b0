package bench

import (
	"encoding/json"
	"fmt"
	"runtime"
	"testing"
	"time"

	"packwright/audit/follow"
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

// livedFloor is one floor of a hub, without a disk.
type livedFloor struct {
	desk  *floors.Desk
	books *follow.Follower
}

func newLivedFloor(p *workflow.Policy) *livedFloor {
	f := &livedFloor{books: follow.New()}
	f.desk = floors.NewDesk(p, func(seq uint64, frame []byte) error {
		_, err := f.books.Take(seq, frame)
		return err
	})
	return f
}

// liveInGroups lives through all scripts, those of n floors at once: so many
// moments of each in turn are read, decided, applied, framed and audited. It gives
// the processor time in seconds.
func liveInGroups(b *testing.B, all []*script, n, turn int) (used float64) {
	b.Helper()
	for i := 0; i < len(all); i += n {
		runtime.GC()
		before := cpu()
		group := make([]*livedFloor, n)
		for k := range group {
			group[k] = newLivedFloor(all[i+k].policy)
		}
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
		}
	}
	return used
}

// livedFloors prints what an event costs in all: decoded command, decision, frame, audit.
func livedFloors(b *testing.B) {
	all := scripts(atOnce[len(atOnce)-1])
	events := 0
	for _, s := range all {
		events += s.events
	}
	rows := []struct{ atOnce, turn int }{{1, 1}, {4, 1}, {16, 1}, {16, 8}, {16, 64}}
	cost := make([][]float64, len(rows))
	for range manyRounds {
		for k, r := range rows {
			cost[k] = append(cost[k], liveInGroups(b, all, r.atOnce, r.turn)*1e6/float64(events))
		}
	}
	fmt.Printf("Lived: %d random days each, %s events in all, decided, framed and audited, so many moments of each floor in turn.\n\n"+
		"| floors at once | moments a turn | CPU an event | beside one |\n|--:|--:|--:|--:|\n", manyDays, thousands(float64(events)))
	for k, r := range rows {
		fmt.Printf("| %d | %d | %.2f µs | %s |\n", r.atOnce, r.turn, median(cost[k]), beside(cost[k], cost[0]))
	}
}
