package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"packwright/events"
)

// TestVerify proves the day, twice over, and leaves the floor's files as they were.
func TestVerify(t *testing.T) {
	dir := copyOf(t, playedDay(t))
	before := files(t, dir)
	out := succeed(t, "verify", "--rebuild", "--data", dir)
	for _, want := range []string{"OK: lantern-yard, 781 events in 769 frames", "equal to the decider's at every frame", "conservation: 14 of 14 lots balance", "0 breaches", "equal to the snapshot and what follows it"} {
		if !strings.Contains(out, want) {
			t.Errorf("no %q in\n%s", want, out)
		}
	}
	after := files(t, dir)
	for name, sum := range before {
		if after[name] != sum && filepath.Base(name) != "lock" {
			t.Errorf("%s was changed", name)
		}
	}
	if len(after) != len(before) {
		t.Errorf("%d files became %d", len(before), len(after))
	}
}

// files gives the digest of every file under a directory.
func files(t *testing.T, dir string) map[string][32]byte {
	t.Helper()
	out := map[string][32]byte{}
	err := filepath.WalkDir(dir, func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		b, err := os.ReadFile(name)
		out[name] = sha256.Sum256(b)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// block gives the file that holds the frames of the day, which fit in one.
func block(t *testing.T, dir string) string {
	t.Helper()
	found, err := filepath.Glob(filepath.Join(dir, "store", "jetstream", "*", "streams", "*", "msgs", "*.blk"))
	if err != nil || len(found) != 1 {
		t.Fatalf("blocks: %v %v", found, err)
	}
	return found[0]
}

// TestVerifyNamesThePlace changes one byte of one event. The frame is named, and
// all before it stays proven.
func TestVerifyNamesThePlace(t *testing.T) {
	for _, change := range []struct{ from, to string }{ // where it first stands
		{`"owner":"odile"`, `"owner":"odilf"`},
		{`["M-0019"]`, `["M-0018"]`},
		{`"000415"`, `"000416"`},
	} {
		dir := copyOf(t, playedDay(t))
		bad := frameWith(t, dir, change.from)
		path := block(t, dir)
		raw, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, bytes.Replace(raw, []byte(change.from), []byte(change.to), 1), 0o600); err != nil {
			t.Fatal(err)
		}
		got := give(t, "verify", "--data", dir, "--json")
		var v verified
		if err := json.Unmarshal([]byte(got.out), &v); err != nil {
			t.Fatalf("%v: %+v", err, got)
		}
		if got.code != exitCorrupt || v.OK || v.Unproven != uint64(bad) || v.Verdict.Frames != uint64(bad)-1 {
			t.Errorf("a byte of frame %d: exit %d, unproven from %d, %d frames proven\n%s", bad, got.code, v.Unproven, v.Verdict.Frames, got.err)
		}
		if text := give(t, "verify", "--data", dir); !strings.Contains(text.out, fmt.Sprintf("NOT BELIEVABLE from frame %d on", bad)) {
			t.Error(text.out)
		}
	}
}

// frameWith finds the first frame whose bytes hold a text.
func frameWith(t *testing.T, dir, text string) int {
	t.Helper()
	for _, line := range strings.Split(succeed(t, "export", "events", "--data", dir), "\n") {
		var e struct {
			Seq   events.Seq
			Event json.RawMessage
		}
		if strings.Contains(line, text) && json.Unmarshal([]byte(line), &e) == nil {
			return int(e.Seq.Frame)
		}
	}
	t.Fatalf("no event holds %s", text)
	return 0
}

// TestVerifyKnowsHeads holds the log against heads that were noted.
func TestVerifyKnowsHeads(t *testing.T) {
	dir := playedDay(t)
	var v verified
	if err := json.Unmarshal([]byte(succeed(t, "verify", "--json", "--data", dir)), &v); err != nil {
		t.Fatal(err)
	}
	last := v.Verdict.Root
	for _, c := range []struct {
		head string
		code int
		says string
	}{
		{fmt.Sprintf("769:%s", last), exitDone, "the head noted at frame 769 is in it"},
		{fmt.Sprintf("769:%.16s", last), exitDone, "is in it"},
		{"771:" + last, exitCorrupt, "the head that was noted is newer"},
		{"300:" + last, exitCorrupt, "another past was put in its place"},
		{"769", exitInput, "is no head of a log"},
		{"769:abc", exitInput, "is no head of a log"},
	} {
		got := give(t, "verify", "--head", c.head, "--data", dir)
		if got.code != c.code || !strings.Contains(got.out+got.err, c.says) {
			t.Errorf("--head %s: %+v", c.head, got)
		}
	}
}

// TestVerifyOldStore puts an older store under a newer snapshot.
func TestVerifyOldStore(t *testing.T) {
	dir := copyOf(t, playedDay(t))
	short := filepath.Join(t.TempDir(), "short")
	succeed(t, "init", "lantern-yard", "--owner", "odile", "--data", short)
	if err := os.RemoveAll(filepath.Join(dir, "store")); err != nil {
		t.Fatal(err)
	}
	if err := os.CopyFS(filepath.Join(dir, "store"), os.DirFS(filepath.Join(short, "store"))); err != nil {
		t.Fatal(err)
	}
	if got := give(t, "verify", "--rebuild", "--data", dir); got.code != exitCorrupt || !strings.Contains(got.err, "an older log was put back") {
		t.Errorf("%+v", got)
	}
	if err := os.RemoveAll(filepath.Join(dir, "store")); err != nil {
		t.Fatal(err)
	}
	for _, command := range []string{"verify", "board"} {
		if got := give(t, command, "--data", dir); got.code != exitCorrupt || !strings.Contains(got.err, "gone") {
			t.Errorf("%s without a store: %+v", command, got)
		}
	}
	if _, err := os.Stat(filepath.Join(dir, "store")); err == nil {
		t.Error("a reading founded a new store")
	}
}
