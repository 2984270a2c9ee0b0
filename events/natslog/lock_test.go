package natslog

import (
	"bufio"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"packwright/events"
)

// TestLockedByAnotherProcess: the second process is refused before it touches
// the store, and is told who has it; when the holder is killed, the lock is free.
func TestLockedByAnotherProcess(t *testing.T) {
	dir := t.TempDir()
	cmd, out, _ := startChild(t, dir, "hold")
	if line, err := bufio.NewReader(out).ReadString('\n'); err != nil || line != "open 0\n" {
		t.Fatalf("the child said %q, %v", line, err)
	}
	_, err := Open(t.Context(), testConfig(dir))
	if !errors.Is(err, events.ErrLocked) {
		t.Fatalf("%v, want ErrLocked", err)
	}
	host, _ := os.Hostname()
	for _, want := range []string{"the child", fmt.Sprintf("pid %d", cmd.Process.Pid), "on " + host, dir} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("%q does not say %q", err, want)
		}
	}
	if err := cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	_ = cmd.Wait()
	l := open(t, testConfig(dir))
	fill(t, l, 2)

	// And the other way round: this process holds, the child is refused.
	cmd, _, _ = startChild(t, dir, "hold")
	_ = cmd.Wait()
	if code := cmd.ProcessState.ExitCode(); code != 7 {
		t.Fatalf("the refused child ended with %d", code)
	}
	wantFrames(t, l, 2)
}

// TestLockedTwiceHere: within one process the lock counts too, and is given
// free by Close and by an Open that fails.
func TestLockedTwiceHere(t *testing.T) {
	cfg := testConfig(t.TempDir())
	l := open(t, cfg)
	if _, err := Open(t.Context(), cfg); !errors.Is(err, events.ErrLocked) {
		t.Fatalf("%v, want ErrLocked", err)
	}
	l.Close()
	other := cfg
	other.Floor = "g"
	refused(t, other)
	open(t, cfg)
}

func TestHolderWithoutName(t *testing.T) {
	path := filepath.Join(t.TempDir(), "lock")
	writeFile(t, path, nil)
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if got := holder(f); got == "" {
		t.Fatal("no words for a holder without a name")
	}
}
