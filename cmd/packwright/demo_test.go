package main

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"packwright/testdata/demo"
)

var update = flag.Bool("update", false, "write the golden files of testdata/golden anew")

// outcome is how a command went.
type outcome struct {
	code     int
	out, err string
}

// give runs a command line in this process.
func give(t testing.TB, args ...string) outcome {
	t.Helper()
	var out, err bytes.Buffer
	code := run(t.Context(), &streams{strings.NewReader(""), &out, &err}, append([]string{"--log", "warn"}, args...))
	return outcome{code, out.String(), err.String()}
}

// succeed runs a command line that has to succeed.
func succeed(t testing.TB, args ...string) string {
	t.Helper()
	got := give(t, args...)
	if got.code != exitDone {
		t.Fatalf("packwright %s: exit %d\n%s%s", strings.Join(args, " "), got.code, got.out, got.err)
	}
	return got.out
}

// played is a floor on which the day was played; tests only read it.
var played struct {
	once sync.Once
	dir  string
	out  string
}

func playedDay(t testing.TB) string {
	t.Helper()
	played.once.Do(func() {
		dir, err := os.MkdirTemp("", "packwright-test-")
		if err != nil {
			t.Fatal(err)
		}
		at := filepath.Join(dir, "floor")
		played.out = succeed(t, "demo", "--check", "--data", at)
		played.dir = at
	})
	if played.dir == "" {
		t.Fatal("the day could not be played")
	}
	return played.dir
}

// TestDemoCheck wants every golden answer of the day, and the floor kept where
// --data says.
func TestDemoCheck(t *testing.T) {
	dir := playedDay(t)
	if strings.Contains(played.out, "WRONG") || !strings.Contains(played.out, ", 0 differ;") {
		t.Error(played.out)
	}
	if got := give(t, "demo", "--check", "--data", dir); got.code != exitInput || !strings.Contains(got.err, "holds the floor lantern-yard already") {
		t.Errorf("played over a floor: %+v", got)
	}
}

// TestDemoCheckSees gives a day that was broken off to the check: it must tell
// what is missing, and not fall over it.
func TestDemoCheckSees(t *testing.T) {
	for _, until := range []string{"07:28", "10:00", "13:40", "17:30"} {
		var out, errs bytes.Buffer
		d := newDesk(t.Context(), &streams{strings.NewReader(""), &out, &errs}, &settings{Log: "warn"})
		f, err := openDemo(d, t.TempDir(), "")
		if err != nil {
			t.Fatal(err)
		}
		hour, err := time.Parse("15:04", until)
		if err != nil {
			t.Fatal(err)
		}
		noon := time.Date(2031, 3, 4, hour.Hour(), hour.Minute(), 0, 0, time.UTC)
		if err := f.play(d, demo.Until(demo.Day(), noon)); err != nil {
			t.Fatal(err)
		}
		err = f.check(d, time.Now())
		if exitOf(err) != exitFailed || !strings.Contains(out.String(), "expected 224") && !strings.Contains(out.String(), "an answer") {
			t.Errorf("broken off at %s: %v\n%s", until, err, out.String())
		}
		if err := f.Close(); err != nil {
			t.Error(err)
		}
	}
}

// goldens are what the floor of the day answers, word for word.
var goldens = []struct {
	file string
	args []string
}{
	{"board-1741", []string{"board", "--at", "17:41"}},
	{"board-1200", []string{"board", "--at", "2031-03-04T12:00"}},
	{"board-evening", []string{"board", "--at", "18:06"}},
	{"why-c07-1741", []string{"why", "C-07", "--at", "17:41"}},
	{"why-x01-1353", []string{"why", "X-01", "--at", "13:53"}},
	{"why-x02", []string{"why", "X-02"}},
	{"options-x02-maren", []string{"options", "X-02", "--as", "maren", "--at", "17:41"}},
	{"options-c07-tobi", []string{"options", "C-07", "--as", "tobi", "--at", "17:41"}},
	{"trace-m0019", []string{"trace", "M-0019"}},
	{"trace-m0023", []string{"trace", "M-0023"}},
	{"trace-m0072", []string{"trace", "M-0072"}},
	{"trace-dsc-c11", []string{"trace", "--item", "DSC", "--carton", "C-11"}},
	{"trace-bnd-c14", []string{"trace", "--item", "BND", "--carton", "C-14"}},
	{"siblings-m0019", []string{"siblings", "M-0019"}},
	{"siblings-bw18", []string{"siblings", "BW-18"}},
	{"plan-show", []string{"plan", "show"}},
	{"plan-diff-1-2", []string{"plan", "diff", "1", "2"}},
	{"where-plu", []string{"where", "PLU", "--at", "16:00"}},
	{"irregular", []string{"irregular"}},
	{"sample-20-7", []string{"sample", "--n", "20", "--seed", "7"}},
	{"replay-c02", []string{"replay", "--until", "2031-03-04T13:52:53Z", "--state", "C-02"}},
	{"replay-evening", []string{"replay", "--until", "18:06"}},
	{"claim-cl02", []string{"claim", "show", "CL-02"}},
	{"day-sheet", []string{"day", "sheet"}},
}

func TestGoldenAnswers(t *testing.T) {
	dir := playedDay(t)
	for _, g := range goldens {
		t.Run(g.file, func(t *testing.T) {
			got := succeed(t, append(g.args, "--data", dir)...)
			golden(t, g.file, got)
		})
	}
}

// golden compares a text with the one that is kept.
func golden(t *testing.T, name, got string) {
	t.Helper()
	file := filepath.Join(root, "testdata", "golden", "demo-"+name+".txt")
	if *update {
		if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), got); diff != "" {
		t.Errorf("%s differs (-want +got; -update writes it anew):\n%s", file, diff)
	}
}

// TestEventCounts keeps how many events of each type the gates asked for.
func TestEventCounts(t *testing.T) {
	counts := map[string]int{}
	for line := range strings.Lines(succeed(t, "export", "events", "--data", playedDay(t))) {
		var e struct{ Event struct{ Type string } }
		if err := json.Unmarshal([]byte(line), &e); err != nil {
			t.Fatal(err)
		}
		if e.Event.Type != "" { // the last line says what they come to
			counts[e.Event.Type]++
		}
	}
	var b strings.Builder
	for _, kind := range slices.Sorted(maps.Keys(counts)) {
		fmt.Fprintf(&b, "%4d %s\n", counts[kind], kind)
	}
	golden(t, "counts", b.String())
}

// TestBothDoors asks everything of the directory and of a hub on it: the JSON is
// the same, byte for byte.
func TestBothDoors(t *testing.T) {
	dir := copyOf(t, playedDay(t))
	questions := [][]string{{"trace", "M-9999"}, {"plan", "diff", "1", "9"}, {"plan", "show", "--plan", "P-77"}, {"trace", "M-00"}, {"why", "C-99"}, {"options", "C-01"}, {"options", "X-02", "--as", "nobody"}, {"siblings", "M-0023"},
		{"board", "--at", "yesterday"}, {"board", "--at", "2031-03-01T12:00"}, {"export", "events"}, {"claim", "list"}, {"claim", "show", "CL-09"}}
	for _, g := range goldens {
		questions = append(questions, g.args)
	}
	here := map[string]outcome{}
	for _, q := range questions {
		here[strings.Join(q, " ")] = give(t, append(q, "--json", "--data", dir)...)
	}
	url := hubOn(t, dir)
	for _, q := range questions {
		name := strings.Join(q, " ")
		if diff := cmp.Diff(here[name], give(t, append(q, "--json", "--url", url)...), cmp.AllowUnexported(outcome{})); diff != "" {
			t.Errorf("%s (-data +url):\n%s", name, diff)
		}
	}
	if got := give(t, "board", "--data", dir); got.code != exitFailed || !strings.Contains(got.err, "Ask that hub with --url") {
		t.Errorf("asked a directory that a hub holds: %+v", got)
	}
	if got := give(t, "verify", "--data", dir); got.code != exitFailed || !strings.Contains(got.err, "Ask that hub with --url") {
		t.Errorf("verified a directory that a hub holds: %+v", got)
	}
	if got := succeed(t, "verify", "--rebuild", "--url", url); !strings.Contains(got, "equal to the running hub") {
		t.Error(got)
	}
}

// copyOf gives a copy of a floor's directory.
func copyOf(t testing.TB, dir string) string {
	t.Helper()
	to := filepath.Join(t.TempDir(), "floor")
	if err := os.CopyFS(to, os.DirFS(dir)); err != nil {
		t.Fatal(err)
	}
	return to
}

// hubOn runs a hub on a directory until the test ends, and gives its address with
// the house's word.
func hubOn(t testing.TB, dir string) string {
	t.Helper()
	l, err := listenLoopback("127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	d := newDesk(t.Context(), &streams{strings.NewReader(""), io.Discard, os.Stderr}, &settings{Data: dir, Log: "error"})
	h, err := openHub(t.Context(), place(dir), d.log, opening{Program: "the test", Publish: true})
	if err != nil {
		t.Fatal(err)
	}
	ended := make(chan error, 1)
	go func() { ended <- h.serve(d, doorway{listener: l}, newLight()) }()
	t.Cleanup(func() {
		if err := <-ended; err != nil { // t.Context has ended: so does the hub
			t.Error(err)
		}
		if err := h.Close(); err != nil {
			t.Error(err)
		}
	})
	for range 500 { // the address with the house's word is written when the hub is open
		if b, err := os.ReadFile(place(dir).hubURL()); err == nil && len(b) > 0 {
			return strings.TrimSpace(string(b))
		}
		time.Sleep(20 * time.Millisecond)
	}
	t.Fatal("the hub did not open")
	return ""
}
