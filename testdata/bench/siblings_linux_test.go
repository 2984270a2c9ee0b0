package bench

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"os"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"packwright/audit"
	"packwright/audit/follow"
	"packwright/events"
	"packwright/prep"
	"packwright/testdata/floors"
)

// kinSizes are the logs whose siblings are counted side by side.
func kinSizes() []int {
	if os.Getenv("PACKWRIGHT_LONG") != "" {
		return []int{100_000, 1_000_000, 5_000_000}
	}
	return []int{100_000, 1_000_000}
}

// kinAsks is how many marks are asked for in a round, kinRounds how often each.
const kinAsks, kinRounds = 200, 7

// readOnly is a log that an auditor reads as it is written, and nobody keeps.
type readOnly struct {
	events.Log
	by *follow.Follower
}

func (l readOnly) Append(_ context.Context, after uint64, frame []byte) error {
	_, err := l.by.Take(after+1, bytes.Clone(frame)) // as a store gives it, no more room than bytes
	return err
}

// kinFloor is one size of floor as its auditor has read it.
type kinFloor struct {
	size  int
	lives int64
	cpu   time.Duration
	books *follow.Follower
	marks []prep.Mark
	took  map[audit.Axis][]time.Duration
}

// BenchmarkSiblings asks for the siblings of marks, all axes at once and each axis by
// its name, on floors of growing size side by side: one mark of each in turn. All
// figures are medians over the rounds.
//
//	go test -run '^$' -bench Siblings -benchtime 1x -timeout 30m ./...
//
// PACKWRIGHT_LONG=1 adds five million events. Nothing is written to a disk.
func BenchmarkSiblings(b *testing.B) {
	for range b.N {
		fmt.Printf("\n%s\n\n", machine(kinRounds))
		var list []*kinFloor
		for _, n := range kinSizes() {
			list = append(list, readKin(b, n))
		}
		p50, p99 := map[audit.Axis][][]float64{}, map[audit.Axis][][]float64{}
		for range kinRounds {
			askRound(b, list)
			for i, k := range list {
				for axis, took := range k.took {
					if p50[axis] == nil {
						p50[axis], p99[axis] = make([][]float64, len(list)), make([][]float64, len(list))
					}
					p50[axis][i] = append(p50[axis][i], micros(percentile(took, 50)))
					p99[axis][i] = append(p99[axis][i], micros(percentile(took, 99)))
				}
			}
		}
		printKin(list, p50, p99)
		fmt.Printf("\nLoad average at the end: %s.\n\n", loadAverage())
	}
	b.ReportMetric(0, "ns/op")
}

func micros(d time.Duration) float64 { return float64(d.Nanoseconds()) / 1e3 }

func readKin(b *testing.B, n int) *kinFloor {
	b.Helper()
	k := &kinFloor{}
	before := heap()
	f := follow.New()
	size, _, err := floors.WriteLog(context.Background(), readOnly{by: f}, 1, n, 32)
	if err != nil {
		b.Fatal(err)
	}
	runtime.GC()
	k.size, k.books, k.lives = size, f, heap()-before
	k.marks = someMarks(f)[:kinAsks]
	return k
}

// askRound asks every floor for its marks, one of each in turn.
func askRound(b *testing.B, list []*kinFloor) {
	b.Helper()
	for _, k := range list {
		k.took = map[audit.Axis][]time.Duration{}
	}
	for i := range kinAsks {
		for _, k := range list {
			k.books.View(func(f *audit.Fold) { k.ask(b, f, k.marks[i]) })
		}
	}
}

// allAxes stands for one question along all of them.
const allAxes audit.Axis = "all"

func (k *kinFloor) ask(b *testing.B, f *audit.Fold, m prep.Mark) {
	start := time.Now()
	sets, err := f.SiblingsOf(m, 30*time.Minute)
	k.took[allAxes] = append(k.took[allAxes], time.Since(start))
	if err != nil {
		b.Fatal(err)
	}
	for _, s := range sets {
		start := time.Now()
		key := cmp.Or(s.PagesBy, s.Key)
		if s.Axis == audit.ByLot {
			key, _, _ = strings.Cut(key, " ")
		}
		if _, err := f.SiblingsAlong(s.Axis, key); err != nil {
			b.Fatal(err)
		}
		k.took[s.Axis] = append(k.took[s.Axis], time.Since(start))
	}
}

func printKin(list []*kinFloor, p50, p99 map[audit.Axis][][]float64) {
	head, rule, lives := "| siblings, p50 / p99 |", "|:--|", "| auditor, live memory |"
	for _, k := range list {
		head += fmt.Sprintf(" %s events |", thousands(float64(k.size)))
		rule += "--:|"
		lives += " " + perEvent(k.lives, k.size) + " |"
	}
	fmt.Println(head + "\n" + rule)
	var axes []audit.Axis
	for a := range p50 {
		axes = append(axes, a)
	}
	slices.Sort(axes)
	for _, a := range axes {
		row := "| " + string(a) + " |"
		for i := range list {
			row += fmt.Sprintf(" %.1f / %.1f µs |", median(p50[a][i]), median(p99[a][i]))
		}
		fmt.Println(row)
	}
	fmt.Println(lives)
}
