package main

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/rs/zerolog"

	"packwright/cmd/packwright/door"
	"packwright/events"
	"packwright/prep"
	"packwright/testdata/demo"
	"packwright/workflow"
)

// TestKeyFile: a key comes back from its file, whose reading is its owner's alone.
func TestKeyFile(t *testing.T) {
	dir := t.TempDir()
	at := place(filepath.Join(dir, "floor"))
	for range 20 { // some keys hold a plus sign
		file := filepath.Join(dir, "key")
		k, err := makeKey("yard", file, at)
		must(t, err)
		back, err := readKey(file)
		must(t, err)
		if back.Public != k.Public || back.File != file {
			t.Fatalf("%+v came back as %+v", k, back)
		}
		head, err := events.SignHead(back, 1, 1, [32]byte{})
		must(t, err)
		must(t, head.Verify(k.Public))
		info, err := os.Stat(file)
		must(t, err)
		if runtime.GOOS != "windows" && info.Mode().Perm() != 0o600 {
			t.Errorf("others may read it: %s", info.Mode())
		}
		must(t, os.Remove(file))
	}
	if k, err := parseKey(demo.Key); err != nil || k.Public != demo.PublicKey {
		t.Errorf("the demo's: %+v, %v", k, err)
	}
}

// TestKeyStaysApart: neither a path nor a link leads a key into the floor's directory.
func TestKeyStaysApart(t *testing.T) {
	dir := t.TempDir()
	at := place(filepath.Join(dir, "floor"))
	must(t, os.MkdirAll(filepath.Join(string(at), "store"), 0o700))
	must(t, os.Symlink(string(at), filepath.Join(dir, "link")))
	must(t, os.Symlink(dir, filepath.Join(string(at), "up")))
	for file, inside := range map[string]bool{
		"floor/k": true, "floor/store/deep/k": true, "link/k": true, "floor/../floor/k": true, "floor/up/floor/k": true,
		"k": false, "floor.key": false, "other/k": false, "floor/../k": false, "floor/up/k": false,
	} {
		err := apart(filepath.Join(dir, file), at)
		var in *prep.InputError
		if inside != errors.As(err, &in) {
			t.Errorf("%s: %v", file, err)
		}
	}
}

// TestKeyNotAtHand: a floor whose key is away, or another's, packs on; its heads
// stay due until the key is back.
func TestKeyNotAtHand(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "floor")
	if code, said := founds(t, dir); code != 0 {
		t.Fatal(said)
	}
	about, err := place(dir).founded()
	must(t, err)
	away := about.KeyFile + ".away"
	must(t, os.Rename(about.KeyFile, away))
	h, err := openHub(t.Context(), place(dir), zerolog.Nop(), opening{})
	must(t, err)
	defer h.Close()
	due := func() (yes bool) {
		must(t, h.writer.View(t.Context(), func(f *workflow.Floor) { yes = f.HeadDue() }))
		return yes
	}
	floor := h.signing(zerolog.Nop())
	n := 0
	give := func(to door.Floor, what, data string) {
		t.Helper()
		n++
		a := to.Ask(t.Context(), workflow.Command{ID: "BOARD/k/" + string(rune('0'+n)), Type: what, Badge: "odile", Data: []byte(data)})
		must(t, a.Err())
	}
	if r, green := h.health(t.Context(), newLight()); green || !strings.Contains(strings.Join(r.(health).Trouble, "\n"), "is not at hand") {
		t.Errorf("the hub calls itself well: %+v", r)
	}
	give(floor, "sign-in", "")
	give(floor, "close-day", "")
	if !due() || !errors.Is(floor.sign(t.Context(), floor), errNoKey) {
		t.Error("a head was signed without a key")
	}
	if _, err := about.key(); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("away: %v", err)
	}
	_, err = makeKey("yard", about.KeyFile, place(dir))
	must(t, err)
	if _, err := about.key(); err == nil || !strings.Contains(err.Error(), "not the key") {
		t.Errorf("another key: %v", err)
	}
	must(t, os.Rename(away, about.KeyFile))
	floor = h.signing(zerolog.Nop())
	must(t, floor.sign(t.Context(), floor))
	if due() {
		t.Error("a head is due still")
	}
	give(floor, "open-load", `{"load":"LD-1"}`)
	give(floor, "close-load", `{"load":"LD-1"}`)
	if due() {
		t.Error("a truck left, and its head was not signed")
	}
}

// TestOlderStorePutBack: a hub on an older copy of its store is found out by the
// first bench that was told more. It takes no more commands, from nobody, and
// says why.
func TestOlderStorePutBack(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "floor")
	if code, said := founds(t, dir); code != 0 {
		t.Fatal(said)
	}
	older := copyOf(t, dir)
	ask := func(w *door.Witness, n string) door.Answer {
		return w.Ask(t.Context(), workflow.Command{ID: "BOARD/o/" + n, Type: "sign-in", Badge: "odile"})
	}
	h, err := openHub(t.Context(), place(dir), zerolog.Nop(), opening{})
	must(t, err)
	bench := door.NewWitness(door.Local{Writer: h.writer})
	if a := ask(bench, "1"); a.Outcome != workflow.Kept {
		t.Fatalf("%+v", a)
	}
	must(t, h.Close())

	h, err = openHub(t.Context(), place(older), zerolog.Nop(), opening{})
	must(t, err)
	defer h.Close()
	l := newLight()
	bench.Floor = lit{door.Local{Writer: h.writer}, l}
	if a := ask(bench, "2"); a.Refusal == nil || a.Refusal.Code != "E-SYS-05" {
		t.Fatalf("an older store: %+v", a)
	}
	if why := l.why(); !errors.Is(why, events.ErrCorrupt) || !strings.Contains(why.Error(), "the bench of BOARD/o/2 was told that frame 2") {
		t.Errorf("the light: %v", why)
	}
	other := door.NewWitness(bench.Floor)
	if a := ask(other, "3"); !errors.Is(a.Err(), events.ErrCorrupt) {
		t.Errorf("another bench after that: %+v", a)
	}
}
