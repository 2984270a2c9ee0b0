package bench

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"runtime"
	"sync"
	"testing"

	"packwright/events/natslog"
	"packwright/testdata/floors"
)

// Many floors on one hub: what fills each of them, and how many live at once.
const (
	manyDays   = 10
	manyEvents = 50_000
	manyRounds = 7
	keptRounds = 5
)

var atOnce = []int{1, 4, 16}

// filled is a kind of floor, and how one is written into an empty log.
type filled struct {
	name string
	fill func(log *natslog.Log, seed uint64) (events int, err error)
}

var fillings = []filled{
	{fmt.Sprintf("%d random days each", manyDays), randomDays},
	{fmt.Sprintf("the feed of 64 benches, %s events each, 32 a frame", thousands(manyEvents)), func(log *natslog.Log, seed uint64) (int, error) {
		n, _, err := floors.WriteLog(context.Background(), log, seed, manyEvents, 32)
		return n, err
	}},
}

// randomDays plays days on one floor, every kind of command in them.
func randomDays(log *natslog.Log, seed uint64) (int, error) {
	day, days := floors.New(seed), 0
	desk := floors.NewDesk(day.Policy, func(seq uint64, frame []byte) error { return log.Append(context.Background(), seq-1, frame) })
	day.PlayOn(desk, func() bool { days++; return days < manyDays })
	return desk.Events, nil
}

// BenchmarkManyFloors prints what an event costs when one process keeps 1, 4 or 16
// floors at once.
//
//	go test -run '^$' -bench ManyFloors -benchtime 1x ./...
//
// The floors are the same sixteen in every row, so that each row reads the same
// events: one floor after another, four at once and then the next four, all at
// once. First their days are lived, a moment of each floor in turn, which is the
// hardest on the processor's caches; then each is read from a store of its own.
// The rows are measured in turns.
func BenchmarkManyFloors(b *testing.B) {
	for range b.N {
		fmt.Printf("\n%s\n\n", machine(manyRounds))
		livedFloors(b)
		fmt.Println()
		manyFloors(b)
		fmt.Printf("\nLoad average at the end: %s.\n\n", loadAverage())
	}
	b.ReportMetric(0, "ns/op")
}

func manyFloors(b *testing.B) {
	fmt.Print("| floors of, read from their stores | at once | CPU an event, decider + auditor | beside one | memory of a floor |\n|:--|--:|--:|--:|--:|\n")
	for _, f := range fillings {
		logs, events := filledLogs(b, f)
		cost, room := make([][]float64, len(atOnce)), make([]int64, len(atOnce))
		for range manyRounds {
			for k, n := range atOnce {
				used, lives := readInGroups(b, logs, n)
				cost[k], room[k] = append(cost[k], used*1e6/float64(events)), lives
			}
		}
		for k, n := range atOnce {
			fmt.Printf("| %s | %d | %.2f µs | %s | %s |\n", f.name, n, median(cost[k]), beside(cost[k], cost[0]), megabytes(room[k]/int64(n)))
		}
		for _, l := range logs {
			l.Close()
		}
	}
}

func filledLogs(b *testing.B, f filled) (logs []*natslog.Log, events int) {
	b.Helper()
	for i := range atOnce[len(atOnce)-1] {
		log := openGrown(b, filepath.Join(b.TempDir(), "store"))
		n, err := f.fill(log, uint64(i+1))
		if err != nil {
			b.Fatal(err)
		}
		logs, events = append(logs, log), events+n
	}
	return logs, events
}

// readInGroups reads all floors, n at once, and gives the processor time in
// seconds and what the last n hold in memory.
func readInGroups(b *testing.B, logs []*natslog.Log, n int) (used float64, lives int64) {
	b.Helper()
	for i := 0; i < len(logs); i += n {
		runtime.GC()
		before := cpu()
		kept, err := readFloors(logs[i : i+n])
		if err != nil {
			b.Fatal(err)
		}
		used += (cpu() - before).Seconds()
		if i+n == len(logs) {
			with := heap()
			runtime.KeepAlive(kept)
			kept = nil
			lives = with - heap()
		}
	}
	return used, lives
}

// beside compares round by round, since a busy machine is busy for both.
func beside(list, with []float64) string {
	ratios := make([]float64, len(list))
	for i := range list {
		ratios[i] = 100 * (list[i]/with[i] - 1)
	}
	return fmt.Sprintf("%+.1f %%", median(ratios))
}

// readFloors reads every log into a decider and an auditor, all at once.
func readFloors(logs []*natslog.Log) (any, error) {
	kept := make([][2]any, len(logs))
	failed := make([]error, len(logs))
	var wg sync.WaitGroup
	for i, l := range logs {
		wg.Go(func() {
			for k, r := range readers[1:] {
				if kept[i][k], failed[i] = r.read(l); failed[i] != nil {
					return
				}
			}
		})
	}
	wg.Wait()
	return kept, errors.Join(failed...)
}
