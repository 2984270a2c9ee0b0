package bench

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"sync"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"packwright/audit"
	"packwright/audit/follow"
	"packwright/events"
	"packwright/events/natslog"
	"packwright/workflow/engine"
)

// turns is how often each peer is measured, in turns with the others.
const turns = 5

// BenchmarkCompared prints packwright beside what one would take instead, each
// with its own durable default spelled out. The engine does more than its peers:
// it decides by every gate, hashes, and keeps a state; they check an id and a
// carton's number. What it gives up is said too: it has one writer.
//
//	go test -run '^$' -bench Compared -benchtime 1x ./...
func BenchmarkCompared(b *testing.B) {
	for range b.N {
		fmt.Printf("\n%s\n", machine(turns))
		appended(b)
		readBack(b)
		fmt.Printf("Load average at the end: %s.\n\n", loadAverage())
	}
	b.ReportMetric(0, "ns/op")
}

// peers opens all that are on this machine for n clients.
func peers(tb testing.TB, n int) (out []Peer) {
	tb.Helper()
	var cartons []string
	for i := range n {
		cartons = append(cartons, cartonOf(i))
	}
	for _, open := range []func() (Peer, error){
		func() (Peer, error) { return OpenPostgres(dirFor(tb), n) },
		func() (Peer, error) { return OpenSQLite(dirFor(tb)) },
		func() (Peer, error) { return OpenMessages(dirFor(tb), cartons) },
	} {
		p, err := open()
		if errors.Is(err, ErrAbsent) {
			if os.Getenv("CI") == "true" {
				tb.Fatal(err)
			}
			tb.Logf("left out: %v", err)
			continue
		}
		if err != nil {
			tb.Fatal(err)
		}
		tb.Cleanup(func() {
			if err := p.Close(); err != nil {
				tb.Error(err)
			}
		})
		out = append(out, p)
	}
	return out
}

// dirFor gives a directory that another user may enter: a database server
// refuses to run as root.
func dirFor(tb testing.TB) string {
	dir, err := os.MkdirTemp("", "packwright-bench-")
	if err != nil {
		tb.Fatal(err)
	}
	if err := os.Chmod(dir, 0o755); err != nil {
		tb.Fatal(err)
	}
	tb.Cleanup(func() { os.RemoveAll(dir) })
	return dir
}

func cartonOf(client int) string { return fmt.Sprintf("C-%d", client) }

// crowd lets n clients append, each to a carton of its own, one after another.
type crowd struct {
	p    Peer
	next []int
}

var someLine = make([]byte, lineBytes)

func (c *crowd) run(tb testing.TB, k int) (each []time.Duration, all time.Duration) {
	took := make([][]time.Duration, len(c.next))
	var wg sync.WaitGroup
	begin := time.Now()
	for i := range c.next {
		wg.Go(func() {
			for range k {
				c.next[i]++
				start := time.Now()
				if err := c.p.Append(i, Entry{fmt.Sprintf("ST-%d/1/%d", i, c.next[i]), cartonOf(i), c.next[i], someLine}); err != nil {
					tb.Error(err)
					return
				}
				took[i] = append(took[i], time.Since(start))
			}
		})
	}
	wg.Wait()
	all = time.Since(begin)
	for _, t := range took {
		each = append(each, t...)
	}
	return each, all
}

// appended prints durable, guarded appends a second.
func appended(b *testing.B) {
	fmt.Printf("\nGuarded durable appends: n clients in this process, each waiting for its answer, lines of %d bytes. Ratio: engine's rate to this one's.\n\n", lineBytes)
	fmt.Println("| clients | what | a second | p50 | p99 | ratio |")
	fmt.Println("|--:|---|--:|--:|--:|--:|")
	for _, n := range []int{1, 8, 64, 256} {
		s := openShop(b, openStore(b), n)
		s.work(b, roundCommands)
		list := []*rival{{name: "packwright: engine, all gates", k: max(40, 12_000/(n+20)), run: func(k int) ([]time.Duration, time.Duration) { return s.work(b, k) }}}
		for _, p := range peers(b, n) {
			c := &crowd{p, make([]int, n)}
			list = append(list, &rival{name: p.Name(), k: max(8, 1200/n), run: func(k int) ([]time.Duration, time.Duration) { return c.run(b, k) }})
		}
		for range turns {
			for _, r := range list {
				each, all := r.run(r.k)
				r.rate = append(r.rate, float64(n*r.k)/all.Seconds())
				r.p50 = append(r.p50, float64(percentile(each, 50)))
				r.p99 = append(r.p99, float64(percentile(each, 99)))
			}
		}
		s.e.Close()
		for _, r := range list {
			fmt.Printf("| %d | %s | %s | %s | %s | %.1f |\n", n, r.name, thousands(median(r.rate)), millis(time.Duration(median(r.p50))),
				millis(time.Duration(median(r.p99))), median(list[0].rate)/median(r.rate))
		}
	}
}

// entries turns a log into what the peers keep: each event under its carton, or
// what it names instead.
func entries(tb testing.TB, frames [][]byte) (out []Entry) {
	lines, err := Lines(frames)
	if err != nil {
		tb.Fatal(err)
	}
	n := map[string]int{}
	for i, l := range lines {
		var e struct {
			Data struct{ Carton, Run, Lot, Tote, Plan string }
		}
		if err := json.Unmarshal(l.Raw, &e); err != nil {
			tb.Fatal(err)
		}
		of := "other"
		for _, code := range []string{e.Data.Carton, e.Data.Run, e.Data.Lot, e.Data.Tote, e.Data.Plan} {
			if code != "" {
				of = code
				break
			}
		}
		n[of]++
		out = append(out, Entry{fmt.Sprintf("e-%d", i), of, n[of], l.Raw})
	}
	return out
}

// readBack prints what it costs to read the same 100,000 events.
func readBack(b *testing.B) {
	const size = 100_000
	frames, err := Frames(size, 32, 32)
	if err != nil {
		b.Fatal(err)
	}
	list := entries(b, frames)
	var carton string
	for _, e := range list {
		if e.N == 20 && e.Carton[0] == 'C' { // a carton that left long ago
			carton = e.Carton
			break
		}
	}
	fmt.Printf("\nThe same %s events read back: the story of one carton (%s), a full replay with each event decoded, disk, and the time from opening to the first durable answer. Medians of %d.\n\n", thousands(float64(len(list))), carton, turns)
	fmt.Println("| what | story of a carton | events/s replayed | disk an event | open to first answer |")
	fmt.Println("|---|--:|--:|--:|--:|")
	ours(b, frames, carton, len(list))
	for _, p := range peers(b, 1) {
		if err := p.Load(list); err != nil {
			b.Fatal(p.Name(), err)
		}
		var story, replay, start []float64
		for range turns {
			story = append(story, timed(b, func() error { _, err := p.Story(carton); return err }))
			replay = append(replay, timed(b, func() error {
				return p.Replay(func(line []byte) error { _, err := events.Decode(line); return err })
			}))
		}
		disk, err := p.Disk()
		if err != nil {
			b.Fatal(err)
		}
		for i := range turns {
			start = append(start, timed(b, func() error {
				return p.Restart(Entry{fmt.Sprintf("again-%d", i), cartonOf(0), 1 + i, someLine})
			}))
		}
		tableRow(p.Name(), story, replay, start, len(list), disk)
	}
}

func tableRow(name string, story, replay, start []float64, n int, disk int64) {
	fmt.Printf("| %s | %.2f ms | %s | %d B | %.0f ms |\n", name, median(story)*1000, thousands(float64(n)/median(replay)), disk/int64(n), median(start)*1000)
}

func timed(b *testing.B, fn func() error) float64 {
	b.Helper()
	start := time.Now()
	if err := fn(); err != nil {
		b.Fatal(err)
	}
	return time.Since(start).Seconds()
}

// ours is packwright's row: the story is what the auditor's fold says of the
// carton with every frame it rests on read and decoded; opening has a snapshot.
func ours(b *testing.B, frames [][]byte, carton string, n int) {
	log, dir := stored(b, frames)
	disk := used(b, dir)
	books := follow.New()
	if err := books.CatchUp(context.Background(), log); err != nil {
		b.Fatal(err)
	}
	var story, replay, start []float64
	for range turns {
		story = append(story, timed(b, func() (err error) {
			books.View(func(f *audit.Fold) { err = readStory(f, log, carton) })
			return err
		}))
		replay = append(replay, timed(b, func() error {
			return log.Scan(context.Background(), 1, func(seq uint64, frame []byte) error {
				_, raw, err := events.SplitFrame(frame)
				if err != nil {
					return err
				}
				_, err = events.DecodeLines(seq, raw)
				return err
			})
		}))
	}
	log.Close()
	snapshots := b.TempDir()
	for i := range turns + 1 { // the first makes the snapshot
		took := timed(b, func() error { return openOnce(dir, snapshots, i) })
		if i > 0 {
			start = append(start, took)
		}
	}
	tableRow("packwright, 32 events a frame", story, replay, start, n, disk)
}

func readStory(f *audit.Fold, log *natslog.Log, carton string) error {
	c, ok := f.Contents(carton)
	if !ok || len(c.Frames) == 0 {
		return fmt.Errorf("carton %s is not in the books", carton)
	}
	for _, seq := range c.Frames {
		frame, err := log.Read(context.Background(), seq)
		if err != nil {
			return err
		}
		_, raw, err := events.SplitFrame(frame)
		if err == nil {
			_, err = events.DecodeLines(seq, raw)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// openOnce opens store and engine, gives one command, and closes both.
func openOnce(dir, snapshots string, i int) error {
	log, err := natslog.Open(context.Background(), natslog.Config{Floor: Floor, Dir: dir})
	if err != nil {
		return err
	}
	defer log.Close()
	e, err := engine.Open(context.Background(), engine.Config{Log: log, Floor: Floor, Now: time.Now, Logger: zerolog.Nop(), Snapshot: snapshots})
	if err != nil {
		return err
	}
	defer e.Close()
	s := &shop{e: e}
	board := &Bench{station: "BOARD", badge: "odile", n: 1000 + i}
	board.do("join", "name", fmt.Sprintf("NEW-%d", i))
	return s.keep(board.out[0])
}

// TestPeersKeepTheSamePromise: what is compared is comparable. Each peer keeps an
// id once, lets one writer take a carton's number, and gives all back.
func TestPeersKeepTheSamePromise(t *testing.T) {
	for _, p := range peers(t, 8) {
		t.Run(p.Name(), func(t *testing.T) {
			c := &crowd{p, make([]int, 8)}
			c.run(t, 5)
			first := Entry{"ST-0/1/1", cartonOf(0), 6, someLine}
			if err := p.Append(0, first); !errors.Is(err, ErrTaken) {
				t.Errorf("a known id: %v", err)
			}
			n, story := 0, 0
			if err := p.Replay(func(line []byte) error { n++; return nil }); err != nil {
				t.Fatal(err)
			}
			lines, err := p.Story(cartonOf(3))
			if err != nil {
				t.Fatal(err)
			}
			if story = len(lines); n != 40 || story != 5 {
				t.Errorf("%d lines, %d in one carton; want 40 and 5", n, story)
			}
			if err := p.Restart(Entry{"again", cartonOf(0), 6, someLine}); err != nil {
				t.Fatal(err)
			}
		})
	}
}
