// Package webtest is the ground of tests that walk the pages: a hub as a process
// of its own, so that it can be killed like one, and a browser whose tabs sign in.
//
//	hub := webtest.Demo(t, "--until", "17:41")
//	b := webtest.Open(t)
//	tab := b.Tab(t, hub)          // cookies of its own
//	tab.SignIn(t, "maren")
//	tab.Go(t, "/")
//	tab.Picture(t, "board")
//
// A missing browser skips the test and says so; with CI=true it fails it.
package webtest

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"
)

// PIN opens for every badge of the demo.
const PIN = "2580"

// patience is how long a hub, or a page, may take on a busy machine.
const patience = 60 * time.Second

// Hub is a hub in a process of its own.
type Hub struct {
	URL string // as browsers ask for it
	Dir string // the floor's directory

	house  string // the same with the house's password
	cmd    *exec.Cmd
	stderr *bytes.Buffer
}

var program = sync.OnceValues(func() (string, error) {
	if p := os.Getenv("PACKWRIGHT_PROGRAM"); p != "" {
		return p, nil
	}
	at := filepath.Join(os.TempDir(), fmt.Sprintf("packwright-webtest-%d", os.Getuid()))
	fresh := fmt.Sprintf("%s.%d", at, os.Getpid())
	if out, err := exec.Command("go", "build", "-o", fresh, "packwright/cmd/packwright").CombinedOutput(); err != nil {
		return "", fmt.Errorf("build the program: %w\n%s", err, out)
	}
	return at, os.Rename(fresh, at) // one that runs keeps its old file
})

// Program builds the program, once, and gives its path. PACKWRIGHT_PROGRAM names
// one that is built already.
func Program(t testing.TB) string {
	t.Helper()
	p, err := program()
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// Demo plays the day of the demo in a process of its own and waits until its
// pages answer. It ends with the test.
func Demo(t testing.TB, args ...string) *Hub {
	t.Helper()
	h := &Hub{Dir: filepath.Join(t.TempDir(), "floor")}
	h.start(t, append([]string{"demo", "--data", h.Dir, "--listen", "127.0.0.1:0"}, args...)...)
	return h
}

// Serve opens a floor that is there already.
func Serve(t testing.TB, dir string, args ...string) *Hub {
	t.Helper()
	h := &Hub{Dir: dir}
	h.start(t, append([]string{"serve", "--data", dir, "--listen", "127.0.0.1:0"}, args...)...)
	return h
}

// Through gives the same hub as browsers reach it at another address.
func (h *Hub) Through(address string) *Hub { return &Hub{URL: address, Dir: h.Dir, house: h.house} }

// Kill ends the hub as a power cut would.
func (h *Hub) Kill() {
	_ = h.cmd.Process.Signal(syscall.SIGKILL)
	_ = h.cmd.Wait()
}

// Again serves the same floor at the same address after a kill.
func (h *Hub) Again(t testing.TB) {
	t.Helper()
	_ = os.Remove(filepath.Join(h.Dir, "hub.url"))
	h.start(t, "serve", "--data", h.Dir, "--listen", strings.TrimPrefix(h.URL, "http://"))
}

func (h *Hub) start(t testing.TB, args ...string) {
	t.Helper()
	h.stderr = &bytes.Buffer{}
	h.cmd = exec.Command(Program(t), args...)
	h.cmd.Stderr, h.cmd.Stdout = h.stderr, io.Discard
	if err := h.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	cmd := h.cmd
	t.Cleanup(func() {
		_ = cmd.Process.Signal(syscall.SIGKILL)
		_ = cmd.Wait()
	})
	for end := time.Now().Add(patience); time.Now().Before(end); time.Sleep(50 * time.Millisecond) {
		if h.answers() {
			return
		}
		if cmd.ProcessState != nil {
			break
		}
	}
	t.Fatalf("the hub does not answer: %s", h.stderr)
}

// answers reads where the hub is and asks whether it is alive.
func (h *Hub) answers() bool {
	raw, err := os.ReadFile(filepath.Join(h.Dir, "hub.url"))
	if err != nil {
		return false
	}
	at, err := url.Parse(strings.TrimSpace(string(raw)))
	if err != nil || at.Host == "" {
		return false
	}
	h.house, at.User = at.String(), nil
	h.URL = at.String()
	r, err := http.Get(h.URL + "/alive")
	if err != nil {
		return false
	}
	return r.Body.Close() == nil && r.StatusCode == http.StatusNoContent
}

// Do gives commands in the house's name, as JSON lines, and fails on a no.
func (h *Hub) Do(t testing.TB, lines ...string) {
	t.Helper()
	for _, line := range lines {
		if got := h.Ask(t, http.MethodPost, "/do", line); !strings.Contains(got, `"outcome":"kept"`) && !strings.Contains(got, `"outcome":"call"`) {
			t.Fatalf("%s\nwas answered: %s", line, got)
		}
	}
}

// Ask gives what the hub answers to the house.
func (h *Hub) Ask(t testing.TB, method, path, body string) string {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	req, err := http.NewRequestWithContext(ctx, method, h.house+path, strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	resp, err := http.DefaultClient.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	b, err := io.ReadAll(resp.Body)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// Events gives the log's lines of one type, as its exporter writes them.
func (h *Hub) Events(t testing.TB, kind string) (out []map[string]any) {
	t.Helper()
	cmd := exec.Command(Program(t), "export", "events", "--url", h.house)
	raw, err := cmd.Output()
	if err != nil {
		t.Fatalf("export the events: %v", err)
	}
	lines := bufio.NewScanner(bytes.NewReader(raw))
	lines.Buffer(nil, 4<<20)
	for lines.Scan() {
		var e struct{ Event map[string]any }
		if json.Unmarshal(lines.Bytes(), &e) == nil && e.Event["type"] == kind {
			out = append(out, e.Event)
		}
	}
	return out
}
