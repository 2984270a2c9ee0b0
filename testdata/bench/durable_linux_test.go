package bench

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/nats-io/nats.go/jetstream"
	"golang.org/x/sys/unix"

	"packwright/events/natslog"
)

// openStore gives an embedded store in a directory of its own, each append
// synced to the disk.
func openStore(tb testing.TB) *natslog.Log {
	tb.Helper()
	log, err := natslog.Open(context.Background(), natslog.Config{Floor: Floor, Dir: tb.TempDir()})
	if err != nil {
		tb.Fatal(err)
	}
	tb.Cleanup(func() { log.Close() })
	return log
}

// lineBytes is what an event takes in these logs, its newline included.
const lineBytes = 260

// rival is a way to make what n clients say durable. run lets each of them speak
// k times, and gives each answer's time and the time of all.
type rival struct {
	name string
	k    int
	run  func(k int) (each []time.Duration, all time.Duration)

	rate, p50, p99, cpu []float64 // cpu: µs of processor time of one of them
}

// durable prints what is answered durably in a second, by 1 to 256 clients.
func durable(b *testing.B) {
	fmt.Printf("\nDurable commands: clients in this process, each waiting for its answer. The engine decides, frames, syncs, applies and answers (its processor time holds the making of the commands); the file takes\n"+
		"the same number of lines of %d bytes in one write + fdatasync; JetStream takes each line as one message, synced.\n\n", lineBytes)
	fmt.Println("| clients | engine, commands/s | p50 | p99 | CPU a command | write + fdatasync, lines/s | p50 | p99 | one message an event, lines/s | p50 | p99 | p50 engine : file | rate engine : messages |")
	fmt.Println("|--:|--:|--:|--:|--:|--:|--:|--:|--:|--:|--:|--:|--:|")
	for _, n := range []int{1, 8, 64, 256} {
		list := rivals(b, n)
		for range rounds {
			for _, r := range list {
				before := cpu()
				each, all := r.run(r.k)
				r.cpu = append(r.cpu, (cpu()-before).Seconds()*1e6/float64(n*r.k))
				r.rate = append(r.rate, float64(n*r.k)/all.Seconds())
				r.p50 = append(r.p50, float64(percentile(each, 50)))
				r.p99 = append(r.p99, float64(percentile(each, 99)))
			}
		}
		fmt.Printf("| %d ", n)
		for i, r := range list {
			fmt.Printf("| %s | %s | %s ", thousands(median(r.rate)), millis(time.Duration(median(r.p50))), millis(time.Duration(median(r.p99))))
			if i == 0 {
				fmt.Printf("| %.1f µs ", median(r.cpu))
			}
		}
		fmt.Printf("| %.2f | %.1f |\n", median(list[0].p50)/median(list[1].p50), median(list[0].rate)/median(list[2].rate))
	}
	fmt.Println()
}

func rivals(b *testing.B, n int) []*rival {
	s := openShop(b, openStore(b), n)
	b.Cleanup(func() { s.e.Close() })
	s.work(b, roundCommands) // settled: no bench is at its beginning
	k := max(40, 12_000/(n+20))
	return []*rival{
		{name: "engine", k: k, run: func(k int) ([]time.Duration, time.Duration) { return s.work(b, k) }},
		{name: "file", k: max(10, 400/n), run: file(b, n)},
		{name: "messages", k: max(4, 400/n), run: messages(b, n)},
	}
}

// file writes n lines at once and syncs them, k times.
func file(b *testing.B, n int) func(k int) ([]time.Duration, time.Duration) {
	f, err := os.Create(filepath.Join(b.TempDir(), "plain"))
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { f.Close() })
	lines := bytes.Repeat([]byte("e"), n*lineBytes)
	return func(k int) (each []time.Duration, all time.Duration) {
		begin := time.Now()
		for range k {
			start := time.Now()
			if _, err := f.Write(lines); err != nil {
				b.Fatal(err)
			}
			if err := unix.Fdatasync(int(f.Fd())); err != nil {
				b.Fatal(err)
			}
			each = append(each, time.Since(start))
		}
		return each, time.Since(begin)
	}
}

// messages lets n publishers send k messages each, one after the other.
func messages(b *testing.B, n int) func(k int) ([]time.Duration, time.Duration) {
	ctx := context.Background()
	log := openStore(b) // for its server; its own stream stays empty
	conn, err := log.Connect("messages")
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(conn.Close)
	js, err := jetstream.New(conn)
	if err != nil {
		b.Fatal(err)
	}
	if _, err := js.CreateStream(ctx, jetstream.StreamConfig{Name: "single", Subjects: []string{"single"}}); err != nil {
		b.Fatal(err)
	}
	line := bytes.Repeat([]byte("e"), lineBytes)
	return func(k int) (each []time.Duration, all time.Duration) {
		var mu sync.Mutex
		var wg sync.WaitGroup
		begin := time.Now()
		for range n {
			wg.Go(func() {
				for range k {
					start := time.Now()
					if _, err := js.Publish(ctx, "single", line); err != nil {
						b.Error(err)
						return
					}
					mu.Lock()
					each = append(each, time.Since(start))
					mu.Unlock()
				}
			})
		}
		wg.Wait()
		return each, time.Since(begin)
	}
}
