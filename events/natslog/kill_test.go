package natslog

import (
	"bufio"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"
	"time"

	"packwright/events"
)

// childDir names the directory the child process works in; childDo what it does.
const (
	childDir = "PACKWRIGHT_TEST_LOG_DIR"
	childDo  = "PACKWRIGHT_TEST_LOG_DO"
)

// child is the process that is killed: it appends numbered frames as fast as
// it can and answers each on stdout once it is durable.
func child(dir string) int {
	cfg := testConfig(dir)
	cfg.Program = "the child"
	if err := appendForever(cfg); err != nil {
		fmt.Fprintln(os.Stderr, err)
		if errors.Is(err, events.ErrLocked) {
			return 7
		}
		return 1
	}
	return 0
}

func appendForever(cfg Config) error {
	ctx := context.Background()
	l, err := Open(ctx, cfg)
	if err != nil {
		return err
	}
	defer l.Close()
	last, err := l.Last(ctx)
	if err != nil {
		return err
	}
	fmt.Printf("open %d\n", last)
	if os.Getenv(childDo) == "hold" {
		_, err := io.Copy(io.Discard, os.Stdin)
		return err
	}
	for n := last; ; n++ {
		if err := l.Append(ctx, n, numbered(n+1)); err != nil {
			return err
		}
		fmt.Printf("%d\n", n+1)
	}
}

// numbered is a frame that proves itself: its number, a length that follows
// from it (mostly small, now and then up to 200 kB, so that blocks come to an
// end too), and a hash over both.
func numbered(n uint64) []byte {
	size := 100 + int(n*7919%900)
	if n%16 == 0 {
		size += int(n * 104729 % 200_000)
	}
	body := fmt.Appendf(nil, "frame %d of %d bytes ", n, size)
	for len(body) < size {
		body = append(body, byte('a'+(n+uint64(len(body)))%26))
	}
	return fmt.Appendf(body, " %x\n", sha256.Sum256(body))
}

// TestKill kills a process in the middle of its appends, again and again, on
// the same directory. Each time: every answered frame is there, once, at its
// place, whole; at most one frame more than was answered; no gap.
func TestKill(t *testing.T) {
	rounds := 5
	if os.Getenv("PACKWRIGHT_LONG") != "" {
		rounds = 200
	}
	seed := uint64(time.Now().UnixNano())
	t.Logf("%d rounds, seed %d", rounds, seed)
	random := rand.New(rand.NewPCG(seed, 0))
	var dir string
	all, answered, stored := uint64(0), uint64(0), uint64(0)
	for round := range rounds {
		if round%20 == 0 { // a store that only grows would be read ever longer
			all += answered
			dir, answered, stored = t.TempDir(), 0, 0
		}
		wait := time.Duration(random.IntN(400)) * time.Millisecond
		opened, heard := killedChild(t, dir, wait)
		if opened != stored {
			t.Fatalf("round %d: the child found %d frames, %d were stored", round, opened, stored)
		}
		answered = max(answered, heard)
		stored = verified(t, dir, answered)
		if stored > max(answered, opened)+1 {
			t.Fatalf("round %d: %d frames stored, %d answered", round, stored, answered)
		}
	}
	t.Logf("%d frames answered; the last store holds %d, %d of them answered", all+answered, stored, answered)
	if all+answered == 0 {
		t.Fatal("no frame was ever answered: the test proves nothing")
	}
}

// killedChild runs the child and kills it some time after it has opened its
// log. It gives the last sequence the child found and the last it answered.
func killedChild(t *testing.T, dir string, wait time.Duration) (opened, answered uint64) {
	t.Helper()
	cmd, out, _ := startChild(t, dir, "append")
	lines := bufio.NewScanner(out)
	if !lines.Scan() {
		t.Fatalf("the child did not open its log: %v", cmd.Wait())
	}
	opened, err := strconv.ParseUint(strings.TrimPrefix(lines.Text(), "open "), 10, 64)
	if err != nil {
		t.Fatal(err)
	}
	kill := time.AfterFunc(wait, func() { _ = cmd.Process.Kill() })
	defer kill.Stop()
	answered = opened
	for lines.Scan() {
		n, err := strconv.ParseUint(lines.Text(), 10, 64)
		if err != nil || n != answered+1 { // so short a line is written whole or not at all
			t.Fatalf("the child answered %q after %d", lines.Text(), answered)
		}
		answered = n
	}
	if err := cmd.Wait(); err == nil || cmd.ProcessState.Exited() {
		t.Fatalf("the child ended by itself: %v", err)
	}
	return opened, answered
}

// verified opens the log and checks every frame; it gives how many there are.
func verified(t *testing.T, dir string, answered uint64) uint64 {
	t.Helper()
	l, err := Open(t.Context(), testConfig(dir))
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	stored := uint64(0)
	err = l.Scan(t.Context(), 1, func(seq uint64, f []byte) error {
		stored++
		if want := numbered(stored); seq != stored || string(f) != string(want) {
			return fmt.Errorf("place %d: frame %d of %d bytes, want %d bytes", stored, seq, len(f), len(want))
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if stored < answered {
		t.Fatalf("%d frames answered, %d stored", answered, stored)
	}
	return stored
}

func startChild(t *testing.T, dir, do string) (cmd *exec.Cmd, out io.Reader, in io.WriteCloser) {
	t.Helper()
	cmd = exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), childDir+"="+dir, childDo+"="+do)
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	in, err = cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = cmd.Process.Kill() })
	return cmd, out, in
}
