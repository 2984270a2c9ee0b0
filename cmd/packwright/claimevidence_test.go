package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"packwright/events"
	"packwright/events/proof"
	"packwright/testdata/demo"
)

// evidenceOf has evidence made from a copy of the demo's floor.
func evidenceOf(t *testing.T, claim string, more ...string) (file, dir string, v *proof.Evidence) {
	t.Helper()
	dir = copyOf(t, playedDay(t))
	file = filepath.Join(t.TempDir(), claim+".evidence")
	out := succeed(t, append([]string{"claim", "evidence", claim, "--out", file, "--data", dir}, more...)...)
	if !strings.Contains(out, "packwright verify "+file+" --key "+demo.PublicKey) {
		t.Errorf("it does not say how to check it:\n%s", out)
	}
	b, err := os.ReadFile(file)
	must(t, err)
	v, err = proof.Check(b, demo.PublicKey)
	must(t, err)
	return file, dir, v
}

// TestClaimEvidence: a shortage of a carton, shown to a stranger.
func TestClaimEvidence(t *testing.T) {
	file, dir, v := evidenceOf(t, "CL-02")
	got := succeed(t, "verify", file, "--key", demo.PublicKey, "--data", filepath.Join(t.TempDir(), "nothing"))
	for _, want := range []string{"OK: evidence about CL-02", "events are in the log whose head was signed", "that log leads on from 2 heads signed before",
		"evidence strong: it left complete", "seal 000409", "a set of", "24 counted by ife, who also packed it", "no weight is known after it left", "weighed  3710 g"} {
		if !strings.Contains(got, strings.TrimPrefix(want, "a ")) {
			t.Errorf("no %q in\n%s", want, got)
		}
	}
	kinds := map[events.Type]int{}
	for _, l := range v.Events {
		e, err := events.Decode([]byte(l.Line))
		must(t, err)
		kinds[e.Type()]++
		if i := strings.Index(l.Line, `"carton":"`); i >= 0 && !strings.HasPrefix(l.Line[i:], `"carton":"C-11"`) {
			t.Errorf("it shows another carton: %s", l.Line)
		}
	}
	for kind, n := range map[events.Type]int{"unit.placed": 24, "carton.weighed": 1, "count.entered": 1, "count.accepted": 1, "carton.sealed": 1, "carton.dispatched": 1,
		"lot.received": 1, "units.prepped": 1, "scale.checked": 1, "claim.opened": 1, "claim.decided": 1, "item.registered": 2, "load.closed": 1, "plan.released": 0} {
		if kinds[kind] != n {
			t.Errorf("%d of %s, want %d", kinds[kind], kind, n)
		}
	}
	// Made once more, with nothing new in the log, it has the same head.
	again := filepath.Join(t.TempDir(), "again")
	succeed(t, "claim", "evidence", "CL-02", "--with-plans", "--out", again, "--data", dir)
	b, err := os.ReadFile(again)
	must(t, err)
	second, err := proof.Check(b, demo.PublicKey)
	must(t, err)
	if second.Head != v.Head || len(second.Events) != len(v.Events)+6 {
		t.Errorf("%d events under frame %d, then with the plan's %d under %d", len(v.Events), v.Head.Frame, len(second.Events), second.Head.Frame)
	}
}

// TestClaimEvidenceOfMark: a damaged unit with a mark of its own, its run, its roll
// and the mismatch its carton was in.
func TestClaimEvidenceOfMark(t *testing.T) {
	_, _, v := evidenceOf(t, "CL-01")
	var all strings.Builder
	for _, l := range v.Events {
		all.WriteString(l.Line + "\n")
	}
	for _, want := range []string{`"mark":"M-0019"`, `"run":"R-07"`, `"lot":"L-02"`, `"BW-18"`, `"mismatch.resolved"`, `"seal_no":"000412"`, `"carton.dispatched"`} {
		if !strings.Contains(all.String(), want) {
			t.Errorf("no %s among the %d events", want, len(v.Events))
		}
	}
}

// TestEvidenceChecked: what is wrong with a file, or with how it is checked, has
// its exit code and its place.
func TestEvidenceChecked(t *testing.T) {
	file, dir, v := evidenceOf(t, "CL-02")
	b, err := os.ReadFile(file)
	must(t, err)
	lines := bytes.SplitAfter(b, []byte{'\n'})
	placed := slices.IndexFunc(lines, func(l []byte) bool { return bytes.Contains(l, []byte("unit.placed")) })
	write := func(name string, parts ...[]byte) string {
		path := filepath.Join(t.TempDir(), name)
		must(t, os.WriteFile(path, bytes.Join(parts, nil), 0o600))
		return path
	}
	without := write("without", slices.Delete(slices.Clone(lines), placed, placed+1)...)
	changed := write("changed", bytes.Replace(b, []byte(`3710 g read`), []byte(`3711 g read`), 1))
	paper := v.Earlier[1].Head // as on the day's sheet
	root := proof.Hex(paper.Root)
	signed := write("head", []byte(paper.Note()))
	place := func(l int) string { return "line " + string(rune('0'+l/10)) + string(rune('0'+l%10)) }
	for _, c := range []struct {
		args []string
		code int
		says string
	}{
		{[]string{file}, exitInput, "floor's public key"},
		{[]string{file, "--key", "nonsense"}, exitCorrupt, "no public key"},
		{[]string{file, "--key", "PeterNeumann+c74f20a3+ARpc2QcUPDhMQegwxbzhKqiBfsVkmqq/LDE4izWy10TW"}, exitCorrupt, "cannot be believed"},
		{[]string{without, "--key", demo.PublicKey}, exitCorrupt, place(placed+1) + " of the evidence was left out"},
		{[]string{changed, "--key", demo.PublicKey}, exitCorrupt, "line 5 of the evidence was changed"},
		{[]string{file, "--key", demo.PublicKey, "--head", "756:" + root}, exitDone, "the head noted at frame 756 is one of them"},
		{[]string{file, "--key", demo.PublicKey, "--head", signed}, exitDone, "the head noted at 768 events is one of them"},
		{[]string{file, "--key", demo.PublicKey, "--head", "756:" + strings.Repeat("0", 64)}, exitCorrupt, "it is of another log"},
		{[]string{file, "--key", demo.PublicKey, "--head", "700:" + root}, exitNo, "neither has nor proves"},
		// the same heads against the log itself
		{[]string{"--data", dir, "--key", demo.PublicKey, "--head", signed}, exitDone, "the head noted at 768 events is in it"},
		{[]string{"--data", dir, "--key", "packwright/lantern-yard+00000000+AVp/"}, exitCorrupt, "that of the paper is"},
		{[]string{"--data", dir, "--head", changed}, exitCorrupt, "the head that was noted"},
	} {
		got := give(t, append([]string{"verify"}, c.args...)...)
		if got.code != c.code || !strings.Contains(got.out+got.err, c.says) {
			t.Errorf("verify %s: exit %d, want %d with %q\n%s%s", strings.Join(c.args, " "), got.code, c.code, c.says, got.out, got.err)
		}
	}
	if got := give(t, "claim", "evidence", "CL-77", "--data", dir); got.code != exitNo || !strings.Contains(got.err, `no claim "CL-77"`) {
		t.Errorf("%+v", got)
	}
}

// TestVerifyKeys: floor.json and the log must name the same key, and evidence
// wants the key itself.
func TestVerifyKeys(t *testing.T) {
	dir := copyOf(t, playedDay(t))
	at := place(dir)
	about, err := at.founded()
	must(t, err)
	other, err := makeKey("lantern-yard", filepath.Join(t.TempDir(), "key"), at)
	must(t, err)
	about.Key, about.KeyFile = other.Public, other.File
	b, err := json.Marshal(about)
	must(t, err)
	must(t, writeWhole(at.file("floor.json"), b))
	if got := give(t, "verify", "--data", dir); got.code != exitCorrupt || !strings.Contains(got.err, "it was founded with the key") {
		t.Errorf("another key in floor.json: %+v", got)
	}
	must(t, os.Remove(other.File))
	if got := give(t, "claim", "evidence", "CL-02", "--data", dir); got.code != exitInput || !strings.Contains(got.err, "not at hand") {
		t.Errorf("a key that is away: %+v", got)
	}
}
