package bench

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
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
	size, claims int
	lives        int64
	books        *follow.Follower
	marks        []prep.Mark
	took         map[audit.Axis][][]time.Duration // by mark
}

// BenchmarkSiblings asks for the siblings of marks, all axes at once and each axis by
// its name, on floors of growing size side by side: one mark of each in turn. A
// mark's figure is its median over the rounds, and p50 and p99 are over the marks, so
// that they tell what marks cost and not what else the machine did; the row "every
// answer" has that too.
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
		for range kinRounds {
			askRound(b, list)
		}
		for _, k := range list {
			k.weigh()
		}
		printKin(list)
		fmt.Printf("\nLoad average at the end: %s.\n\n", loadAverage())
	}
	b.ReportMetric(0, "ns/op")
}

func readKin(b *testing.B, n int) *kinFloor {
	b.Helper()
	k := &kinFloor{took: map[audit.Axis][][]time.Duration{}}
	f := follow.New()
	size, _, err := floors.WriteLog(context.Background(), readOnly{by: f}, 1, n, 32)
	if err != nil {
		b.Fatal(err)
	}
	k.size, k.books = size, f
	k.marks = someMarks(f)[:kinAsks]
	f.View(func(f *audit.Fold) { k.complain(b, f) })
	return k
}

// complain has one unit in a thousand complained of, every other claim by its
// carton alone. The fold alone is told, and nobody asks it meanwhile.
func (k *kinFloor) complain(b *testing.B, f *audit.Fold) {
	b.Helper()
	units := 0
	for _, t := range f.StageTotals() {
		units += t.N
	}
	dice := rand.New(rand.NewPCG(3, 4))
	for k.claims < units/1000 {
		bench, round := dice.IntN(floors.FeedBenches), 3*(1+dice.IntN(units/20_000+1)) // a third of the goods bears marks
		d := &events.ClaimOpened{Claim: fmt.Sprint("CL-", k.claims), Kind: "damaged", Qty: 1}
		if d.Given.Carton = fmt.Sprintf("C-%d-%d-0", bench, round); k.claims%2 == 0 {
			d.Given = events.ClaimGiven{Mark: prep.Mark(1 + bench*20_000_000 + round*96 + dice.IntN(96))}
		}
		if _, ok := f.Contents(d.Given.Carton); !ok && d.Given.Carton != "" {
			continue
		}
		e := events.Event{Seq: events.Seq{Frame: f.Last().Frame + 1}, At: f.Now(), Recorded: f.Now(), Station: "BOARD", Badge: "own", Data: d}
		if err := f.Apply(&e); err != nil {
			b.Fatal(err)
		}
		k.claims++
	}
}

// weigh gives what lives on when the books are let go.
func (k *kinFloor) weigh() {
	with := heap()
	k.books = nil
	k.lives = with - heap()
}

// askRound asks every floor for its marks, one of each in turn.
func askRound(b *testing.B, list []*kinFloor) {
	b.Helper()
	for i := range kinAsks {
		for _, k := range list {
			k.books.View(func(f *audit.Fold) { k.ask(b, f, i) })
		}
	}
}

// allAxes stands for one question along all of them.
const allAxes audit.Axis = "all axes"

func (k *kinFloor) ask(b *testing.B, f *audit.Fold, i int) {
	start := time.Now()
	sets, err := f.SiblingsOf(k.marks[i], 30*time.Minute)
	k.note(allAxes, i, time.Since(start))
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
		k.note(s.Axis, i, time.Since(start))
	}
}

func (k *kinFloor) note(axis audit.Axis, i int, took time.Duration) {
	if k.took[axis] == nil {
		k.took[axis] = make([][]time.Duration, kinAsks)
	}
	k.took[axis][i] = append(k.took[axis][i], took)
}

// ofMarks gives each mark's median.
func (k *kinFloor) ofMarks(axis audit.Axis) (out []time.Duration) {
	for _, list := range k.took[axis] {
		if len(list) > 0 {
			out = append(out, median(list))
		}
	}
	return out
}

func printKin(list []*kinFloor) {
	head, rule, lives := "| siblings, p50 / p99 |", "|:--|", "| auditor, live memory |"
	claims, every := "| claims, half of them about a carton |", "| all axes, every answer |"
	for _, k := range list {
		head += fmt.Sprintf(" %s events |", thousands(float64(k.size)))
		rule += "--:|"
		claims += fmt.Sprintf(" %d |", k.claims)
		lives += " " + perEvent(k.lives, k.size) + " |"
		every += " " + micros(slices.Concat(k.took[allAxes]...)) + " |"
	}
	fmt.Println(head + "\n" + rule)
	for _, axis := range slices.Sorted(maps.Keys(list[0].took)) {
		row := "| " + string(axis) + " |"
		for _, k := range list {
			row += " " + micros(k.ofMarks(axis)) + " |"
		}
		fmt.Println(row)
	}
	fmt.Printf("%s\n%s\n%s\n", every, claims, lives)
}

func micros(list []time.Duration) string {
	us := func(p int) float64 { return float64(percentile(list, p).Nanoseconds()) / 1e3 }
	return fmt.Sprintf("%.1f / %.1f µs", us(50), us(99))
}
