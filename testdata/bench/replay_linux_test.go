package bench

import (
	"context"
	"fmt"
	"io/fs"
	"path/filepath"
	"runtime"
	"testing"
	"time"

	"packwright/audit/follow"
	"packwright/events/natslog"
	"packwright/events/proof"
	"packwright/workflow"
	"packwright/workflow/engine"
)

// stored puts frames into a store of their own and gives its directory too.
func stored(b *testing.B, frames [][]byte) (*natslog.Log, string) {
	b.Helper()
	dir := b.TempDir()
	log, err := natslog.Open(context.Background(), natslog.Config{Floor: Floor, Dir: dir, NoSync: true})
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { log.Close() })
	for i, f := range frames {
		if err := log.Append(context.Background(), uint64(i), f); err != nil {
			b.Fatal(err)
		}
	}
	return log, dir
}

// readers read a whole log: raw, into the decider's floor, into the auditor's fold.
var readers = []struct {
	name string
	read func(log *natslog.Log) (any, error)
}{
	{"frames alone", func(log *natslog.Log) (any, error) {
		return nil, log.Scan(context.Background(), 1, func(uint64, []byte) error { return nil })
	}},
	{"the decider's floor", func(log *natslog.Log) (any, error) {
		floor, chain := workflow.NewFloor(nil), proof.Chain{Next: 1}
		return floor, engine.Replay(context.Background(), log, floor, &chain)
	}},
	{"the auditor's fold", func(log *natslog.Log) (any, error) {
		f := follow.New()
		return f, f.CatchUp(context.Background(), log)
	}},
}

// replayed prints how fast a log is read, and what it costs to keep.
func replayed(b *testing.B) {
	fmt.Println("Replay from the embedded store: read, decode, hash, apply, compare cells at each frame. 32 benches at work, and all they pack leaves in the end;\n" +
		"memory is what lives on when the log has been read.\n\n" +
		"| events | a frame | frames alone, events/s | decider's floor, events/s | CPU an event | auditor's fold, events/s | CPU an event | disk | an event | floor's memory | an event | fold's memory | an event |\n" +
		"|--:|--:|--:|--:|--:|--:|--:|--:|--:|--:|--:|--:|--:|")
	for _, size := range []struct{ n, per int }{{100_000, 1}, {100_000, 32}, {1_000_000, 32}} {
		frames, err := Frames(size.n, 32, size.per)
		if err != nil {
			b.Fatal(err)
		}
		log, dir := stored(b, frames)
		n := int64(size.n)
		fmt.Printf("| %s | %d ", thousands(float64(n)), size.per)
		for i, s := range speeds(b, log, size.n) {
			fmt.Printf("| %s ", thousands(s.rate))
			if i > 0 {
				fmt.Printf("| %.2f µs ", s.cpu)
			}
		}
		fmt.Printf("| %s | %d B ", megabytes(used(b, dir)), used(b, dir)/n)
		for _, r := range readers[1:] {
			kept := lives(b, log, r.read)
			fmt.Printf("| %s | %d B ", megabytes(kept), kept/n)
		}
		fmt.Println("|")
		log.Close()
	}
	fmt.Println()
}

// speed is events/s by the clock, and µs of processor time an event on all cores.
type speed struct{ rate, cpu float64 }

// speeds gives the medians of each reader.
func speeds(b *testing.B, log *natslog.Log, n int) []speed {
	b.Helper()
	rate, used := make([][]float64, len(readers)), make([][]float64, len(readers))
	for range rounds {
		for i, r := range readers {
			runtime.GC()
			start, before := time.Now(), cpu()
			if _, err := r.read(log); err != nil {
				b.Fatal(r.name, err)
			}
			rate[i] = append(rate[i], float64(n)/time.Since(start).Seconds())
			used[i] = append(used[i], (cpu()-before).Seconds()*1e6/float64(n))
		}
	}
	out := make([]speed, len(readers))
	for i := range out {
		out[i] = speed{median(rate[i]), median(used[i])}
	}
	return out
}

// lives gives how much the heap shrinks when what was read is let go.
func lives(b *testing.B, log *natslog.Log, read func(*natslog.Log) (any, error)) int64 {
	b.Helper()
	got, err := read(log)
	if err != nil {
		b.Fatal(err)
	}
	with := heap()
	runtime.KeepAlive(got)
	got = nil
	return with - heap()
}

func megabytes(n int64) string { return fmt.Sprintf("%.1f MB", float64(n)/1e6) }

// heap gives the live heap.
func heap() int64 {
	var m runtime.MemStats
	runtime.GC()
	runtime.GC() // what pools still held
	runtime.ReadMemStats(&m)
	return int64(m.HeapAlloc)
}

// used gives the bytes of all files below a directory.
func used(b *testing.B, dir string) (sum int64) {
	b.Helper()
	err := filepath.WalkDir(dir, func(_ string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		info, err := d.Info()
		if err == nil {
			sum += info.Size()
		}
		return err
	})
	if err != nil {
		b.Fatal(err)
	}
	return sum
}
