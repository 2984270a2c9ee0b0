package bench

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"packwright/audit"
	"packwright/audit/follow"
	"packwright/events/natslog"
	"packwright/testdata/floors"
	"packwright/workflow/engine"
)

// grown is one size of log in the table of growth, each figure as it is printed.
type grown struct {
	events, frames int
	units          int
	cells          []string
}

// growthColumns are the table's, beside the number of events.
var growthColumns = []string{"units", "decider, CPU an event", "auditor, CPU an event", "full rebuild, both", "decider, memory", "auditor, memory",
	"start from snapshot", "of it auditor", "snapshots", "hub after start: heap / RSS", "hub packing: heap / RSS", "trace warm p50 / p99", "trace cold p50 / p99",
	"siblings p50 / p99", "verify, events/s", "disk an event"}

// BenchmarkGrowth prints one table over logs of growing size, of the feed of
// commands in package floors (64 benches, 32 events a frame), and one over 1, 4
// and 16 floors in one process.
//
//	go test -run '^$' -bench Growth -benchtime 1x -timeout 60m ./...
//
// The logs lie below TMPDIR and are removed; five million events take 1.4 GB, so
// PACKWRIGHT_LONG=1 has to ask for them.
func BenchmarkGrowth(b *testing.B) {
	sizes := []int{100_000, 1_000_000}
	switch os.Getenv("PACKWRIGHT_LONG") {
	case "":
	case "only": // the largest alone
		sizes = []int{5_000_000}
	default:
		sizes = append(sizes, 5_000_000)
	}
	for range b.N {
		fmt.Printf("\n%s\n\n", machine(1))
		var table []grown
		for _, n := range sizes {
			table = append(table, grow(b, n))
		}
		printGrowth(table)
		manyFloors(b)
		fmt.Printf("\nLoad average at the end: %s.\n\n", loadAverage())
	}
	b.ReportMetric(0, "ns/op")
}

func printGrowth(table []grown) {
	head, rule := "| |", "|:--|"
	for _, g := range table {
		head += fmt.Sprintf(" %s events |", thousands(float64(g.events)))
		rule += "--:|"
	}
	fmt.Printf("%s\n%s\n", head, rule)
	for i, name := range growthColumns {
		row := "| " + name + " |"
		for _, g := range table {
			row += " " + g.cells[i] + " |"
		}
		fmt.Println(row)
	}
	fmt.Println()
}

// grow measures one size.
func grow(b *testing.B, n int) grown {
	dir := b.TempDir()
	store := filepath.Join(dir, "store")
	log := openGrown(b, store)
	size, frames, err := floors.WriteLog(context.Background(), log, 1, n, 32)
	if err != nil {
		b.Fatal(err)
	}
	g := grown{events: size, frames: int(frames)}
	disk := used(b, store)

	decider, auditor := readAnew(b, log, readers[1].read), readAnew(b, log, readers[2].read)
	f := auditor.got.(*follow.Follower)
	f.View(func(a *audit.Fold) {
		for _, t := range a.StageTotals() {
			g.units += t.N
		}
	})
	per := func(cpu time.Duration) string { return fmt.Sprintf("%.2f µs", cpu.Seconds()*1e6/float64(size)) }
	g.add(thousands(float64(g.units)), per(decider.cpu), per(auditor.cpu), seconds(decider.wall+auditor.wall), "", "")
	live := len(g.cells) // told once the store is closed
	file := filepath.Join(dir, "audit.snapshot")
	if err := engine.WriteWhole(file, f.Save); err != nil {
		b.Fatal(err)
	}
	g.add(started(b, log, dir, file)...)
	marks := someMarks(f)
	log.Close()
	f = nil
	g.cells[live-2], g.cells[live-1] = perEvent(decider.letGo(), size), perEvent(auditor.letGo(), size)
	g.add(hub(b, dir)...)
	log, f = openGrown(b, store), restored(b, file)
	g.add(traced(b, log, f, marks, ""), traced(b, log, f, marks, store), kinship(f, marks))
	f = nil
	g.add(proven(b, log, size), fmt.Sprintf("%d B", disk/int64(size)))
	log.Close()
	os.RemoveAll(dir)
	return g
}

func (g *grown) add(cells ...string) { g.cells = append(g.cells, cells...) }

func openGrown(b *testing.B, dir string) *natslog.Log {
	b.Helper()
	log, err := natslog.Open(context.Background(), natslog.Config{Floor: floors.Floor, Dir: dir, NoSync: true})
	if err != nil {
		b.Fatal(err)
	}
	return log
}

// reading is what it took to read a log from event 1.
type reading struct {
	got       any
	wall, cpu time.Duration
}

// letGo forgets what was read and gives by how much the heap shrinks; close the store
// before. What it grew by while reading says less: the store's own caches come and go.
func (r *reading) letGo() int64 {
	with := heap()
	runtime.KeepAlive(r.got)
	r.got = nil
	return with - heap()
}

func readAnew(b *testing.B, log *natslog.Log, read func(*natslog.Log) (any, error)) (r reading) {
	b.Helper()
	runtime.GC()
	start, used := time.Now(), cpu()
	got, err := read(log)
	if err != nil {
		b.Fatal(err)
	}
	return reading{got, time.Since(start), cpu() - used}
}

// started gives how long a hub's two readers take to stand again from their
// snapshots, the log having nothing more.
func started(b *testing.B, log *natslog.Log, dir, file string) []string {
	b.Helper()
	e := openEngine(b, log, dir) // from event 1: it leaves a snapshot
	if err := e.Close(); err != nil {
		b.Fatal(err)
	}
	var all, own []time.Duration
	for range 5 {
		runtime.GC()
		start := time.Now()
		e := openEngine(b, log, dir)
		half := time.Now()
		restored(b, file)
		all, own = append(all, time.Since(start)), append(own, time.Since(half))
		e.Close()
	}
	return []string{seconds(median(all)), seconds(median(own)), megabytes(fileSize(b, file)+fileSize(b, filepath.Join(dir, "floor.snapshot"))) +
		fmt.Sprintf(", auditor's %s", megabytes(fileSize(b, file)))}
}

func openEngine(b testing.TB, log *natslog.Log, dir string) *engine.Engine {
	b.Helper()
	e, err := engine.Open(context.Background(), engine.Config{Log: log, Floor: floors.Floor, Now: time.Now, Logger: zerolog.Nop(), Snapshot: dir})
	if err != nil {
		b.Fatal(err)
	}
	return e
}

func restored(b testing.TB, file string) *follow.Follower {
	b.Helper()
	f, err := os.Open(file)
	if err != nil {
		b.Fatal(err)
	}
	defer f.Close()
	r, err := follow.Restore(f)
	if err != nil {
		b.Fatal(err)
	}
	return r
}

// proven proves the whole log, laws too, and gives events a second.
func proven(b *testing.B, log *natslog.Log, size int) string {
	b.Helper()
	start := time.Now()
	v, err := follow.Verify(context.Background(), log, nil)
	if err != nil || !v.OK() {
		b.Fatal(v.Breaches, err)
	}
	return thousands(float64(size) / time.Since(start).Seconds())
}

func seconds(d time.Duration) string { return fmt.Sprintf("%.2f s", d.Seconds()) }

func perEvent(n int64, events int) string {
	return fmt.Sprintf("%s, %.1f B an event", megabytes(n), float64(n)/float64(events))
}

func fileSize(b *testing.B, file string) int64 {
	b.Helper()
	st, err := os.Stat(file)
	if err != nil {
		b.Fatal(err)
	}
	return st.Size()
}

// status reads a line of this process's status, in bytes.
func status(key string) int64 {
	raw, err := os.ReadFile("/proc/self/status")
	if err != nil {
		return 0
	}
	for l := range bytes.Lines(raw) {
		if text, ok := strings.CutPrefix(string(l), key+":"); ok {
			var kb int64
			fmt.Sscan(text, &kb)
			return kb << 10
		}
	}
	return 0
}

func both(list []time.Duration) string {
	return fmt.Sprintf("%s / %s", millis(percentile(list, 50)), millis(percentile(list, 99)))
}
