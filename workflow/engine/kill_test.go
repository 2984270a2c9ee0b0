package engine

import (
	"bufio"
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"packwright/events"
	"packwright/events/natslog"
	"packwright/events/proof"
	"packwright/workflow"
)

// killedIn names the directory that the child process works in.
const killedIn = "PACKWRIGHT_TEST_HUB_DIR"

// benchesOfChild is how many benches ask the child's engine at once.
const benchesOfChild = 8

func TestMain(m *testing.M) {
	if dir := os.Getenv(killedIn); dir != "" {
		if err := pack(dir); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// pack is the process that gets killed: an engine on a real store, and benches
// that announce, receive and triage as fast as they can. Each answered id is
// written to stdout, after its answer.
func pack(dir string) error {
	log, err := natslog.Open(context.Background(), natslog.Config{Floor: "test", Dir: filepath.Join(dir, "store"), Program: "the hub that is killed"})
	if err != nil {
		return err
	}
	e, err := Open(context.Background(), Config{Log: log, Floor: "test", Now: time.Now, Logger: zerolog.Nop(), Snapshot: dir, Every: 300})
	if err != nil {
		return err
	}
	for _, c := range founding() {
		if _, err := e.Do(context.Background(), c); err != nil {
			return err
		}
	}
	var mu sync.Mutex
	fmt.Println("open")
	errs := make(chan error)
	for i := range benchesOfChild {
		go func() { errs <- ask(e, fmt.Sprintf("%d-%d", os.Getpid(), i), &mu) }()
	}
	return <-errs
}

// ask is one bench: its own epoch, numbered commands, an answer for each.
func ask(e *Engine, epoch string, mu *sync.Mutex) error {
	for n := 1; ; n += 2 {
		lot := fmt.Sprintf("L-%s-%d", epoch, n)
		for i, c := range []workflow.Command{
			cmd(fmt.Sprintf("BOARD/%s/%d", epoch, n), "odile", "announce", "lot", lot, "item", "TRY", "owner", "house", "qty", 10),
			cmd(fmt.Sprintf("BOARD/%s/%d", epoch, n+1), "odile", "receive", "lot", lot, "tote", "T"+lot, "qty", 10),
		} {
			a, err := e.Do(context.Background(), c)
			if err != nil {
				return err
			}
			if a.Outcome != workflow.Kept {
				return fmt.Errorf("%s %d: %+v", c.ID, i, a)
			}
			mu.Lock()
			fmt.Println(c.ID)
			mu.Unlock()
		}
	}
}

// TestKilledHub kills a whole hub under load with SIGKILL, again and again on
// one directory. Each time it is opened anew, from snapshot and tail, and every
// command that was ever answered is in the log exactly once; the log proves
// itself frame by frame, and the floor from the snapshot is the floor from event 1.
func TestKilledHub(t *testing.T) {
	rounds := 4
	if os.Getenv("PACKWRIGHT_LONG") != "" {
		rounds = 200
	}
	seed := uint64(time.Now().UnixNano())
	t.Logf("%d rounds, seed %d", rounds, seed)
	random := rand.New(rand.NewPCG(seed, 0))
	var dir string
	var answered map[string]bool
	all, stored := 0, 0
	for round := range rounds {
		if round%20 == 0 { // a store that only grows would be read ever longer
			all += len(answered)
			dir, answered = t.TempDir(), map[string]bool{}
		}
		runAndKill(t, dir, time.Duration(20+random.IntN(400))*time.Millisecond, answered)
		stored = checkStore(t, dir, answered)
		if t.Failed() {
			t.Fatalf("round %d", round)
		}
	}
	all += len(answered)
	t.Logf("%d commands answered; the last store holds %d, %d of them answered", all, stored, len(answered))
	if all < rounds {
		t.Fatal("too few commands were answered: the test proves nothing")
	}
}

// runAndKill starts the hub, lets it work, kills it, and notes what it answered.
func runAndKill(t *testing.T, dir string, wait time.Duration, answered map[string]bool) {
	t.Helper()
	c := exec.Command(os.Args[0])
	c.Env = append(os.Environ(), killedIn+"="+dir)
	var stderr strings.Builder
	c.Stderr = &stderr
	out, err := c.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewScanner(out)
	if !lines.Scan() || lines.Text() != "open" {
		t.Fatalf("the hub did not open: %v %s", c.Wait(), &stderr)
	}
	time.AfterFunc(wait, func() { _ = c.Process.Signal(syscall.SIGKILL) })
	for lines.Scan() {
		if id := lines.Text(); strings.Count(id, "/") == 2 {
			answered[id] = true
		}
	}
	_ = c.Wait() // killed, as it should be
	if stderr.Len() > 0 {
		t.Fatalf("the hub said: %s", &stderr)
	}
}

// checkStore opens the store as the next hub would, and gives how many commands it holds.
func checkStore(t *testing.T, dir string, answered map[string]bool) int {
	t.Helper()
	log, err := natslog.Open(t.Context(), natslog.Config{Floor: "test", Dir: filepath.Join(dir, "store"), Program: "the check"})
	if err != nil {
		t.Fatal(err)
	}
	defer log.Close()
	n := causes(t, log) // also checks every header and every digest, from event 1
	for id := range answered {
		if n[id] != 1 {
			t.Errorf("%s was answered and stands %d times in the log", id, n[id])
		}
	}
	for id, times := range n {
		if times != 1 {
			t.Errorf("%s stands %d times in the log", id, times)
		}
	}
	e, err := Open(t.Context(), Config{Log: log, Floor: "test", Now: time.Now, Logger: zerolog.Nop(), Snapshot: dir})
	if err != nil {
		t.Fatal(err)
	}
	defer e.Close()
	fresh, chain := workflow.NewFloor(nil), proof.Chain{Floor: "test", Next: 1}
	if err := Replay(t.Context(), log, fresh, &chain); err != nil {
		t.Fatal(err)
	}
	a, err := Digest(fresh)
	if err != nil {
		t.Fatal(err)
	}
	if b, _ := Digest(e.floor); a != b {
		t.Error("the floor from the snapshot is not the floor from event 1")
	}
	for lot, l := range fresh.Lots {
		if sum := fresh.Ledger.N(workflow.Key{Lot: lot, Stage: events.Received, Place: "T" + lot}); sum != l.Received {
			t.Errorf("lot %s received %d, its cell holds %d", lot, l.Received, sum)
		}
	}
	return len(n)
}
