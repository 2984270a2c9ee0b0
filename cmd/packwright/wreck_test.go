package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/json"
	"flag"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/rs/zerolog"

	"packwright/events"
	"packwright/events/natslog"
	"packwright/events/proof"
	"packwright/testdata/floors"
	"packwright/workflow"
	"packwright/workflow/engine"
)

// The corruption campaign. A wreck is a copy of a real floor's directory that
// was damaged in one way: a bit, a truncation, blocks dropped, doubled, swapped
// or zeroed, files deleted or put back as they were earlier, frames changed and
// written anew with the right checksums of the store. Of each, verify must say
// where it is wrong (exit 4), or every event must still read back byte for byte.
// It may not crash, prove a prefix that was never written, or touch the wreck.
//
//	go test ./cmd/packwright -run Wrecks                     150 wrecks of either floor
//	go test ./cmd/packwright -run Wrecks -wrecks 9 -seed 17  these again
//	PACKWRIGHT_LONG=1 go test ./cmd/packwright -run Wrecks   2 000 of either
var wreckCount = flag.Int("wrecks", 0, "how many wrecks to make of each floor; 0: 150, or 2000 when PACKWRIGHT_LONG is set")

// whole is a floor's directory as it should be, held in memory.
type whole struct {
	files  map[string][]byte // by path within the directory
	older  map[string][]byte // the store's files as they were half way
	about  founded
	frames [][]byte
	roots  []string // after so many frames
}

func TestWrecks(t *testing.T) {
	n := *wreckCount
	switch {
	case n > 0:
	case os.Getenv("PACKWRIGHT_LONG") != "":
		n = 2000
	default:
		n = 150
	}
	seed := *floorSeed
	if seed == 0 {
		seed = uint64(time.Now().UnixNano())
	}
	for name, dir := range map[string]string{"the demo's day": playedDay(t), "a random floor": randomStore(t, 1+seed%1000)} {
		t.Run(name, func(t *testing.T) {
			t.Logf("%d wrecks: -seed %d", n, seed)
			untouched := guard(t, dir)
			w := readWhole(t, dir)
			dice := rand.New(rand.NewPCG(seed, 1))
			noticed, harmless := map[string]int{}, map[string]int{}
			for i := range n {
				way := ways[i%len(ways)]
				if w.wreck(t, way, dice) {
					noticed[way.name]++
				} else {
					harmless[way.name]++
				}
				if t.Failed() {
					t.Fatalf("wreck %d of seed %d", i, seed)
				}
			}
			untouched()
			for _, way := range ways {
				t.Logf("%4d noticed, %4d read back whole: %s", noticed[way.name], harmless[way.name], way.name)
			}
		})
	}
}

// readWhole takes a floor's files into memory, and its frames by way of a copy.
func readWhole(t *testing.T, dir string) *whole {
	t.Helper()
	w := &whole{files: readTree(t, dir)}
	work := filepath.Join(t.TempDir(), "copy")
	writeTree(t, work, w.files)
	var err error
	w.about, err = place(work).founded()
	must(t, err)
	w.frames, err = framesOf(t.Context(), w.about, work)
	must(t, err)
	chain := proof.Chain{}
	w.roots = []string{proof.Hex(chain.Tree.Root())}
	for i, f := range w.frames {
		_, _, err := chain.Take(uint64(i)+1, f)
		must(t, err)
		w.roots = append(w.roots, proof.Hex(chain.Tree.Root()))
	}
	half := t.TempDir()
	writeStore(t, half, w.about.Floor, w.frames[:len(w.frames)/2])
	w.older = readTree(t, half)
	return w
}

// wreck makes one wreck and judges what verify makes of it. noticed: it was told.
func (w *whole) wreck(t *testing.T, way way, dice *rand.Rand) (noticed bool) {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "floor")
	defer os.RemoveAll(dir)
	writeTree(t, dir, w.files)
	what := way.do(&wreckage{whole: w, t: t, dir: dir, dice: dice})
	untouched := guard(t, dir)
	if *floorSeed > 0 && testing.Verbose() { // told before, should it crash
		fmt.Printf("%s: %s\n", way.name, what)
	}
	got := give(t, "verify", "--json", "--data", dir)
	untouched()
	fail := func(why string) {
		t.Helper()
		t.Errorf("%s: %s\n%s\nexit %d\n%s%s", way.name, what, why, got.code, got.out, got.err)
	}
	var v verified
	if got.out != "" {
		if err := json.Unmarshal([]byte(got.out), &v); err != nil {
			fail(err.Error())
		}
	}
	switch got.code {
	case exitDone:
		if v.Verdict.Root != w.roots[len(w.frames)] || v.Verdict.Frames != uint64(len(w.frames)) {
			fail("not noticed, and another log than was acknowledged")
		} else if why := w.readsBack(t, dir); why != "" {
			fail("verify is content, and " + why)
		}
		return false
	case exitCorrupt:
		if !placeNamed.MatchString(got.out + got.err) {
			fail("no place is named")
		}
		if k := v.Verdict.Frames; v.Unproven > 0 && !way.forged && (k >= uint64(len(w.roots)) || v.Verdict.Root != w.roots[k]) {
			fail(fmt.Sprintf("%d frames are called proven, and are not those that were written", k))
		}
		return true
	}
	fail("neither content nor corrupt")
	return true
}

// placeNamed finds the place in what verify says: a frame, an event, or a file.
var placeNamed = regexp.MustCompile(`frame \d|\d+\.\d+ [a-z-]+\.[a-z-]+ breaks|frames? from|event \d+\.\d|founded\.json|cut-off\.blk|floor\.json|store .*gone|stream floor-[\w-]+`)

// readsBack reads a copy of a wreck's store frame by frame, "" when all events are
// there. A frame's own name is no event: it serves the writer that is waiting for
// an answer, and nothing proves it later.
func (w *whole) readsBack(t *testing.T, dir string) string {
	t.Helper()
	work := filepath.Join(t.TempDir(), "read")
	defer os.RemoveAll(work)
	must(t, os.CopyFS(work, os.DirFS(dir)))
	got, err := framesOf(t.Context(), w.about, work)
	if err != nil {
		return err.Error()
	}
	if len(got) != len(w.frames) {
		return fmt.Sprintf("%d frames read back, %d were acknowledged", len(got), len(w.frames))
	}
	for i := range got {
		_, is, err := events.SplitFrame(got[i])
		_, was, _ := events.SplitFrame(w.frames[i])
		if err != nil || !slices.EqualFunc(is, was, bytes.Equal) {
			return fmt.Sprintf("the events of frame %d read back otherwise (%v)", i+1, err)
		}
	}
	return ""
}

// framesOf opens the store of a floor's directory and reads all of it.
func framesOf(ctx context.Context, about founded, dir string) (out [][]byte, err error) {
	l, err := natslog.Open(ctx, natslog.Config{Floor: about.Floor, Dir: place(dir).store(), NoSync: true})
	if err != nil {
		return nil, err
	}
	defer l.Close()
	err = l.Scan(ctx, 1, func(_ uint64, f []byte) error { out = append(out, bytes.Clone(f)); return nil })
	return out, err
}

// writeStore makes a new store in dir/store out of frames.
func writeStore(t testing.TB, dir, floor string, frames [][]byte) {
	t.Helper()
	l, err := natslog.Open(t.Context(), natslog.Config{Floor: floor, Dir: place(dir).store(), NoSync: true})
	must(t, err)
	for i, f := range frames {
		must(t, l.Append(t.Context(), uint64(i), f))
	}
	must(t, l.Close())
}

// randomStore plays a random floor's day and keeps it as a hub would have.
func randomStore(t *testing.T, seed uint64) string {
	t.Helper()
	var frames [][]byte
	var policy *workflow.Policy
	snaps := t.TempDir()
	synctest.Test(t, func(t *testing.T) {
		d := floors.New(seed)
		tr := newTrial(t, d, snaps)
		d.Play(tr)
		tr.end()
		frames, policy = tr.log.Frames(), d.Policy
	})
	dir := filepath.Join(t.TempDir(), "floor")
	writeStore(t, dir, floors.Floor, frames)
	must(t, os.MkdirAll(place(dir).snapshot(), 0o700))
	must(t, os.WriteFile(filepath.Join(dir, "floor.json"), fmt.Appendf(nil, `{"format":1,"floor":%q,"currency":{"code":"EUR","digits":2}}`, floors.Floor), 0o600))
	l, err := natslog.Open(t.Context(), natslog.Config{Floor: floors.Floor, Dir: place(dir).store()})
	must(t, err)
	e, err := engine.Open(t.Context(), engine.Config{Log: l, Floor: floors.Floor, Policy: policy, Now: time.Now, Snapshot: place(dir).snapshot(), Logger: zerolog.Nop()})
	must(t, err)
	b, err := openBooks(t.Context(), place(dir).books(), l, zerolog.Nop())
	must(t, err)
	must(t, b.CatchUp(t.Context(), l))
	b.save()
	must(t, e.Close())
	must(t, l.Close())
	t.Logf("a random floor of seed %d: %d frames", seed, len(frames))
	return dir
}

// guard notes bytes and times of all files under a directory, and gives what
// demands that they are still the same. The lock's text is its holder's to write.
func guard(t testing.TB, dir string) (same func()) {
	t.Helper()
	note := func() map[string]string {
		out := map[string]string{}
		must(t, filepath.WalkDir(dir, func(name string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || d.Name() == "lock" {
				return err
			}
			st, err := d.Info()
			if err != nil {
				return err
			}
			b, err := os.ReadFile(name)
			out[name] = fmt.Sprintf("%x %s %s", sha256.Sum256(b), st.ModTime(), st.Mode())
			return err
		}))
		return out
	}
	before := note()
	return func() {
		t.Helper()
		after := note()
		for name := range after {
			if before[name] == "" {
				t.Errorf("%s is new", name)
			}
		}
		for name, was := range before {
			if after[name] != was {
				t.Errorf("%s was %s, is %s", name, was, after[name])
			}
		}
	}
}

// readTree takes the files under a directory into memory; writeTree is its inverse.
func readTree(t testing.TB, dir string) map[string][]byte {
	t.Helper()
	out := map[string][]byte{}
	must(t, filepath.WalkDir(dir, func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || d.Name() == "lock" {
			return err
		}
		rel, err := filepath.Rel(dir, name)
		if err != nil {
			return err
		}
		out[rel], err = os.ReadFile(name)
		return err
	}))
	return out
}

func writeTree(t testing.TB, dir string, files map[string][]byte) {
	t.Helper()
	for name, b := range files {
		path := filepath.Join(dir, name)
		must(t, os.MkdirAll(filepath.Dir(path), 0o700))
		must(t, os.WriteFile(path, b, 0o600))
	}
}

// isStore tells the files that the log consists of from those beside it.
func isStore(name string) bool { return strings.HasPrefix(name, "store"+string(filepath.Separator)) }
