package bench

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"sync"
	"testing"

	"packwright/events/natslog"
	"packwright/testdata/floors"
)

// floorEvents is how many events the floors of one process hold together.
const floorEvents = 1_600_000

// manyFloors prints what an event costs when one process reads and keeps 1, 4 or
// 16 floors of the same number of events in all: each has its own store, decider
// and auditor, and all are read at once.
func manyFloors(b *testing.B) {
	fmt.Printf("Floors in one process, %s events in all, each floor with a store, a decider and an auditor of its own, all read at once; medians of %d.\n\n"+
		"| floors | CPU an event, decider + auditor | events/s, all floors | memory, all floors | an event |\n|--:|--:|--:|--:|--:|\n", thousands(floorEvents), floorRounds)
	for _, n := range []int{1, 4, 16} {
		logs := make([]*natslog.Log, n)
		for i := range logs {
			logs[i] = openGrown(b, filepath.Join(b.TempDir(), "store"))
			if _, _, err := floors.WriteLog(context.Background(), logs[i], uint64(i+1), floorEvents/n, 32); err != nil {
				b.Fatal(err)
			}
		}
		var used, rate []float64
		var lives int64
		for range floorRounds {
			r := readAnew(b, nil, func(*natslog.Log) (any, error) { return readFloors(logs) })
			used, rate = append(used, r.cpu.Seconds()*1e6/floorEvents), append(rate, floorEvents/r.wall.Seconds())
			lives = r.lives
		}
		fmt.Printf("| %d | %.2f µs | %s | %s | %.1f B |\n", n, median(used), thousands(median(rate)), megabytes(lives), float64(lives)/floorEvents)
		for _, l := range logs {
			l.Close()
		}
	}
}

const floorRounds = 3

// readFloors reads every log into a decider and an auditor.
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
