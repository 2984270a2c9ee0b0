package bench

import (
	"context"
	"encoding/json"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"strings"
	"sync"
	"testing"
	"time"

	"golang.org/x/sys/unix"

	"packwright/audit"
	"packwright/audit/follow"
	"packwright/events/natslog"
	"packwright/prep"
	"packwright/testdata/floors"
	"packwright/workflow"
	"packwright/workflow/engine"
)

// hubMemory is what a hub of its own process uses.
type hubMemory struct{ StartHeap, StartRSS, PackHeap, PackRSS int64 }

// hub starts a hub on a store and its snapshots in a process of its own, lets 64
// benches pack, and gives what it uses after the start and at most while packing.
func hub(b *testing.B, dir string) []string {
	b.Helper()
	cmd := exec.Command(os.Args[0], "-test.run", "^TestGrownHub$")
	cmd.Env = append(os.Environ(), "PACKWRIGHT_GROWN="+dir)
	cmd.Stderr = os.Stderr
	out, err := cmd.Output()
	if err != nil {
		b.Fatalf("%v: %s", err, out)
	}
	raw, err := os.ReadFile(filepath.Join(dir, "memory.json"))
	var m hubMemory
	if err == nil {
		err = json.Unmarshal(raw, &m)
	}
	if err != nil {
		b.Fatal(err)
	}
	return []string{megabytes(m.StartHeap) + " / " + megabytes(m.StartRSS), megabytes(m.PackHeap) + " / " + megabytes(m.PackRSS)}
}

// packed is how many commands the hub of the table takes, of how many benches.
const packed, moreAtWork = 64_000, 64

// moreBenches has benches of package bench join a floor that stands: its own have
// forgotten where they were.
func moreBenches(tb testing.TB, e *engine.Engine) *shop {
	tb.Helper()
	s := &shop{e: e}
	for i := range moreAtWork {
		s.benches = append(s.benches, NewBench(700+i))
	}
	for _, c := range founding(s.benches)[1:] {
		if rest, ok := strings.CutPrefix(c.ID, workflow.Board+"/1/"); ok {
			c.ID, c.Badge = workflow.Board+"/more/"+rest, "own"
		}
		if c.Type == "publish-rulebook" {
			continue // the floor has its own
		}
		a, err := e.Do(context.Background(), c)
		if err != nil || a.Outcome != workflow.Kept && a.Outcome != workflow.Already { // its owner is signed in at the board
			tb.Fatal(c.ID, c.Type, a.Outcome, a.Refusal, err)
		}
	}
	return s
}

// TestGrownHub is that hub; it does nothing unless the benchmark calls it.
func TestGrownHub(t *testing.T) {
	dir := os.Getenv("PACKWRIGHT_GROWN")
	if dir == "" {
		t.Skip("it is a part of BenchmarkGrowth")
	}
	debug.SetGCPercent(50) // as serve does
	log, err := natslog.Open(context.Background(), natslog.Config{Floor: floors.Floor, Dir: filepath.Join(dir, "store"), NoSync: true})
	if err != nil {
		t.Fatal(err)
	}
	defer log.Close()
	shop := moreBenches(t, openEngine(t, log, dir))
	books := restored(t, filepath.Join(dir, "audit.snapshot"))
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	ended := make(chan error, 1)
	go func() { ended <- books.Follow(ctx, log, nil) }()
	var m hubMemory
	m.StartHeap, m.StartRSS = inUse(), status("VmRSS")
	stop := make(chan bool)
	var wg sync.WaitGroup
	wg.Go(func() {
		for {
			select {
			case <-stop:
				return
			case <-time.After(20 * time.Millisecond):
				m.PackHeap, m.PackRSS = max(m.PackHeap, inUse()), max(m.PackRSS, status("VmRSS"))
			}
		}
	})
	for range 16 { // the commands themselves are made as they are needed
		shop.work(t, packed/moreAtWork/16)
	}
	close(stop)
	wg.Wait()
	if err := shop.e.Close(); err != nil {
		t.Error(err)
	}
	raw, _ := json.Marshal(m)
	if err := os.WriteFile(filepath.Join(dir, "memory.json"), raw, 0o600); err != nil {
		t.Fatal(err)
	}
}

// inUse is the heap with what is dead on it and not collected yet.
func inUse() int64 {
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return int64(m.HeapInuse)
}

// someMarks gives marks of a fold at random, always the same.
func someMarks(f *follow.Follower) (out []prep.Mark) {
	dice := rand.New(rand.NewPCG(1, 2))
	f.View(func(a *audit.Fold) {
		for len(out) < 1000 {
			m := prep.Mark(1 + dice.IntN(floors.FeedBenches)*20_000_000 + dice.IntN(400_000))
			if t, err := a.TraceMark(m); err == nil && t.Size == 1 {
				out = append(out, m)
			}
		}
	})
	return out
}

// traced asks for the life of each mark and reads the frames it rests on.
// cold is the directory of the store, of which the system then forgets all it has
// cached before each.
func traced(b *testing.B, log *natslog.Log, f *follow.Follower, marks []prep.Mark, cold string) string {
	b.Helper()
	n := len(marks)
	if cold != "" {
		n = 100
	}
	var list []time.Duration
	for round := range 2 {
		for _, m := range marks[:n] {
			if cold != "" {
				forgetFiles(b, cold)
			}
			start := time.Now()
			var t audit.Trace
			var err error
			f.View(func(a *audit.Fold) { t, err = a.TraceMark(m) })
			if err != nil {
				b.Fatal(err)
			}
			for _, seq := range t.Units[0].Frames {
				if _, err := log.Read(context.Background(), seq); err != nil {
					b.Fatal(err)
				}
			}
			if cold != "" || round == 1 {
				list = append(list, time.Since(start))
			}
		}
		if cold != "" {
			break
		}
	}
	return both(list)
}

// kinship asks for the siblings of marks.
func kinship(f *follow.Follower, marks []prep.Mark) string {
	var list []time.Duration
	for _, m := range marks[:100] {
		start := time.Now()
		f.View(func(a *audit.Fold) { a.SiblingsOf(m, 30*time.Minute) })
		if list = append(list, time.Since(start)); time.Since(start) > time.Second && len(list) > 10 {
			break
		}
	}
	return both(list)
}

// forgetFiles has the system drop what it holds of the store's files.
func forgetFiles(b *testing.B, dir string) {
	b.Helper()
	err := filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		f, err := os.Open(path)
		if err != nil {
			return err
		}
		defer f.Close()
		return unix.Fadvise(int(f.Fd()), 0, 0, unix.FADV_DONTNEED)
	})
	if err != nil {
		b.Fatal(err)
	}
}
