package natslog

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"
	"time"

	"github.com/nats-io/nats.go/jetstream"
	"golang.org/x/sys/unix"
)

// event is one event's line, of the size they have.
var event = append(bytes.Repeat([]byte("e"), 299), '\n')

func frameOf(events int) []byte { return bytes.Repeat(event, events) }

// rival is one way to make events durable.
type rival struct {
	name   string
	events int // in one step
	step   func(i int) error
}

// BenchmarkDurable runs all ways to make events durable side by side: in each
// round each of them makes some steps, one after the other, and the medians
// over all rounds are shown. Compare within one run only.
func BenchmarkDurable(b *testing.B) {
	const rounds, steps = 9, 150
	for range b.N {
		rivals := rivals(b)
		took := make([][]time.Duration, len(rivals))
		for round := range rounds {
			for r, rival := range rivals {
				for i := range steps {
					start := time.Now()
					if err := rival.step(round*steps + i); err != nil {
						b.Fatal(rival.name, err)
					}
					took[r] = append(took[r], time.Since(start))
				}
			}
		}
		plain := map[int]time.Duration{} // p50 of the file, by events a step
		for r, rival := range rivals {
			slices.Sort(took[r])
			p50, p99 := took[r][len(took[r])/2], took[r][len(took[r])*99/100]
			if _, ok := plain[rival.events]; !ok {
				plain[rival.events] = p50
			}
			perSecond := float64(rival.events) / p50.Seconds()
			b.Logf("%-34s %3d events a step  p50 %8v  p99 %8v  %9.0f events/s  %5.2f x write+fdatasync",
				rival.name, rival.events, p50.Round(time.Microsecond), p99.Round(time.Microsecond), perSecond,
				float64(p50)/float64(plain[rival.events]))
			b.ReportMetric(perSecond, rival.name+"-"+strconv.Itoa(rival.events)+"-ev/s")
		}
	}
	b.ReportMetric(0, "ns/op")
}

func rivals(b *testing.B) (out []rival) {
	ctx := context.Background()
	sizes := []int{1, 8, 32, 64}
	for _, n := range sizes {
		f, err := os.Create(filepath.Join(b.TempDir(), "plain"))
		if err != nil {
			b.Fatal(err)
		}
		b.Cleanup(func() { f.Close() })
		frame := frameOf(n)
		out = append(out, rival{"file", n, func(int) error {
			if _, err := f.Write(frame); err != nil {
				return err
			}
			return unix.Fdatasync(int(f.Fd()))
		}})
	}
	single := open(b, testConfig(b.TempDir())) // for its server; its own stream stays empty
	_, err := single.js.CreateStream(ctx, jetstream.StreamConfig{Name: "single", Subjects: []string{"single"}, MaxMsgs: -1})
	if err != nil {
		b.Fatal(err)
	}
	js, err := jetstream.New(single.writer)
	if err != nil {
		b.Fatal(err)
	}
	out = append(out, rival{"one-message-an-event", 1, func(int) error {
		_, err := js.Publish(ctx, "single", event)
		return err
	}})
	for _, n := range sizes {
		l := open(b, testConfig(b.TempDir()))
		frame := frameOf(n)
		out = append(out, rival{"frame", n, func(i int) error { return l.Append(ctx, uint64(i), frame) }})
	}
	l := open(b, testConfig(b.TempDir()))
	l.blocks = nil
	frame := frameOf(1)
	return append(out, rival{"frame-without-block-check", 1, func(i int) error { return l.Append(ctx, uint64(i), frame) }})
}

// BenchmarkBlockCheck is what looking for a new block costs each append.
func BenchmarkBlockCheck(b *testing.B) {
	l := open(b, testConfig(b.TempDir()))
	for b.Loop() {
		if err := l.blocks.settle(); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkScan reads a whole log, at one event a frame and at 32.
func BenchmarkScan(b *testing.B) {
	for _, size := range []struct{ events, frames int }{{1, 200_000}, {32, 10_000}} {
		b.Run(fmt.Sprintf("%d events a frame", size.events), func(b *testing.B) {
			cfg := testConfig(b.TempDir())
			cfg.NoSync = true
			l := open(b, cfg)
			load(b, l, size.frames, frameOf(size.events))
			var rates []float64
			for range max(b.N, 5) {
				start, seen := time.Now(), 0
				err := l.Scan(context.Background(), 1, func(uint64, []byte) error { seen++; return nil })
				if err != nil || seen != size.frames {
					b.Fatalf("saw %d of %d, %v", seen, size.frames, err)
				}
				rates = append(rates, float64(seen)/time.Since(start).Seconds())
			}
			slices.Sort(rates)
			median := rates[len(rates)/2]
			b.ReportMetric(median, "frames/s")
			b.ReportMetric(median*float64(size.events), "events/s")
			b.ReportMetric(median*float64(size.events*len(event))/1e6, "MB/s")
		})
	}
}

// load stores frames many at a time, which the log itself never does.
func load(b *testing.B, l *Log, frames int, frame []byte) {
	b.Helper()
	js, err := jetstream.New(l.writer)
	if err != nil {
		b.Fatal(err)
	}
	for i := range frames {
		if _, err := js.PublishAsync(l.cfg.subject(), frame, jetstream.WithExpectLastSequence(uint64(i))); err != nil {
			b.Fatal(err)
		}
		if i%2000 == 1999 || i == frames-1 {
			<-js.PublishAsyncComplete()
		}
	}
	if last, err := l.Last(context.Background()); err != nil || last != uint64(frames) {
		b.Fatalf("%d of %d frames stored, %v", last, frames, err)
	}
}
