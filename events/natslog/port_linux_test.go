package natslog

import (
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// listening gives the addresses on which this process listens, as the kernel
// prints them: entries of /proc/self/net in state 0A whose inode is one of our
// open files.
func listening(t *testing.T) []string {
	t.Helper()
	ours := map[string]bool{}
	fds, err := filepath.Glob("/proc/self/fd/*")
	if err != nil {
		t.Fatal(err)
	}
	for _, fd := range fds {
		if to, err := os.Readlink(fd); err == nil {
			ours[to] = true
		}
	}
	var out []string
	for _, table := range []string{"tcp", "tcp6"} {
		raw, err := os.ReadFile("/proc/self/net/" + table)
		if err != nil {
			t.Skipf("no %s table: %v", table, err)
		}
		for line := range strings.Lines(string(raw)) {
			f := strings.Fields(line)
			if len(f) > 9 && f[3] == "0A" && ours["socket:["+f[9]+"]"] {
				out = append(out, f[1])
			}
		}
	}
	return out
}

// TestNoPort: the embedded log opens no port unless told to, and then that one.
func TestNoPort(t *testing.T) {
	before := listening(t)
	cfg := testConfig(t.TempDir())
	l := open(t, cfg)
	fill(t, l, 2)
	if got := listening(t); !slices.Equal(got, before) {
		t.Fatalf("listening on %v, before on %v", got, before)
	}
	if l.BenchURL() != "" {
		t.Fatalf("a bench address without a port: %s", l.BenchURL())
	}
	l.Close()
	cfg.Listen = "127.0.0.1:0"
	l = open(t, cfg)
	u, err := url.Parse(l.BenchURL())
	if err != nil {
		t.Fatal(err)
	}
	var port int
	if _, err := fmt.Sscan(u.Port(), &port); err != nil {
		t.Fatal(err)
	}
	want := fmt.Sprintf("0100007F:%04X", port) // 127.0.0.1, bytes reversed
	if got := listening(t); len(got) != len(before)+1 || !slices.Contains(got, want) {
		t.Fatalf("listening on %v, want %s besides %v", got, want, before)
	}
	l.Close()
	if got := listening(t); !slices.Equal(got, before) {
		t.Fatalf("after Close listening on %v, before on %v", got, before)
	}
}
