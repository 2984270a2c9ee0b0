package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"packwright/events"
	"packwright/workflow"
)

// reopened gives the scanner of ST-3 as a hub finds it that starts on the same
// directory.
func reopened(t *testing.T, f *demoFloor, s *scanner, dir string) *scanner {
	t.Helper()
	x := newScanner("ST-3", s.floor, f.writer, f.now)
	if err := x.open(t.Context(), dir); err != nil {
		t.Fatal(err)
	}
	return x
}

// TestABenchOutlivesItsHub ends the hub's process after each step of a scan: before
// the command is kept, after, and when all is said. The scan is sent again, as the
// bench does that heard nothing; the piece is placed once, and the bench goes on
// with the carton it had in hand.
func TestABenchOutlivesItsHub(t *testing.T) {
	for _, c := range []struct{ before, after int }{{0, 0}, {1, 0}, {0, 1}} {
		f, away, s := noon(t)
		dir := t.TempDir()
		s = reopened(t, f, s, dir)
		say(t, s, 1, "C-02")
		away.before, away.after, away.asked = c.before, c.after, nil
		say(t, s, 2, "M-0013")
		s = reopened(t, f, s, dir) // the first process is gone here, whatever it knew
		if said := say(t, s, 2, "M-0013"); said.Outcome != workflow.Kept || said.Text != "1 in C-02." {
			t.Errorf("%+v: sent again it says %+v", c, said)
		}
		if said := say(t, s, 1, "C-02"); said.Outcome != workflow.Already {
			t.Errorf("%+v: an old one that comes late is answered %+v", c, said)
		}
		if said := say(t, s, 3, "M-0014"); said.Outcome != workflow.Kept || placed(t, f, "C-02") != 2 {
			t.Errorf("%+v: the next one is answered %+v, %d in C-02", c, said, placed(t, f, "C-02"))
		}
		once := map[string]bool{}
		for _, id := range away.asked {
			once[id] = true
		}
		if len(once) != 2 {
			t.Errorf("%+v: two placements under %d numbers: %v", c, len(once), away.asked)
		}
	}
}

// TestATornFileIsReadToItsLastWholeLine cuts the file at every byte of its last
// line, as a power cut may.
func TestATornFileIsReadToItsLastWholeLine(t *testing.T) {
	f, _, s := noon(t)
	dir := t.TempDir()
	s = reopened(t, f, s, dir)
	say(t, s, 1, "C-02")
	before, err := os.ReadFile(filepath.Join(dir, "ST-3.scans"))
	if err != nil {
		t.Fatal(err)
	}
	say(t, s, 2, "T-22")
	whole, err := os.ReadFile(filepath.Join(dir, "ST-3.scans"))
	if err != nil {
		t.Fatal(err)
	}
	for cut := len(before) + 1; cut < len(whole)-1; cut += 37 {
		torn := t.TempDir()
		if err := os.WriteFile(filepath.Join(torn, "ST-3.scans"), whole[:cut], 0o600); err != nil {
			t.Fatal(err)
		}
		x := reopened(t, f, s, torn)
		if x.kept.Bench.Hand != workflow.HandCarton || x.kept.Bench.Carton != "C-02" || x.kept.taken("line") != 1 {
			t.Fatalf("cut at %d: %+v", cut, x.kept)
		}
		say(t, x, 3, "C-02")
		if again := reopened(t, f, x, torn); again.kept.taken("line") != 3 {
			t.Fatalf("cut at %d, then written on: %+v", cut, again.kept)
		}
	}
}

// TestABenchOlderThanTheLogBeginsAnew puts an old copy of the file back, as a
// restored backup does: its numbers are used up.
func TestABenchOlderThanTheLogBeginsAnew(t *testing.T) {
	f, _, s := noon(t)
	dir := t.TempDir()
	s = reopened(t, f, s, dir)
	say(t, s, 1, "C-02")
	old, err := os.ReadFile(s.file.path)
	if err != nil {
		t.Fatal(err)
	}
	say(t, s, 2, "M-0013")
	if err := os.WriteFile(s.file.path, old, 0o600); err != nil {
		t.Fatal(err)
	}
	was := s.kept.Bench.Epoch
	s = reopened(t, f, s, dir)
	if s.kept.Bench.Epoch == was || s.kept.Bench.Hand != workflow.HandFree {
		t.Fatalf("it goes on in epoch %s with %q in hand", s.kept.Bench.Epoch, s.kept.Bench.Hand)
	}
	if said := say(t, s, 3, "C-02"); said.Text != "C-02 has 1 in it." {
		t.Errorf("%+v", said)
	}
	if said := say(t, s, 4, "M-0014"); said.Outcome != workflow.Kept {
		t.Errorf("%+v", said)
	}
}

// TestABenchFileStaysSmall scans until the file has begun anew.
func TestABenchFileStaysSmall(t *testing.T) {
	f, _, s := noon(t)
	dir := t.TempDir()
	s = reopened(t, f, s, dir)
	for n := uint64(1); n < 700; n++ {
		said, err := s.scan(t.Context(), typed{Session: fmt.Sprintf("tab-%d", n%40), N: n, Raw: strings.Repeat("7", 400)})
		if err != nil || said.Outcome != workflow.No {
			t.Fatal(said, err)
		}
	}
	info, err := os.Stat(s.file.path)
	if err != nil || info.Size() > benchFileMost || info.Size() != s.file.size {
		t.Fatalf("%d bytes, %d noted: %v", info.Size(), s.file.size, err)
	}
	again := reopened(t, f, s, dir)
	if again.kept.Taken.N != 699 || len(again.kept.Outboxes) != outboxesKept {
		t.Errorf("%+v", again.kept)
	}
}

// TestWhatWasDoneAwayIsReported sends three scans that were done while the hub was
// away: they keep their own times, and the report of them comes once.
func TestWhatWasDoneAwayIsReported(t *testing.T) {
	f, away, s := noon(t)
	s = reopened(t, f, s, t.TempDir())
	say(t, s, 1, "C-02")
	at := f.now()
	away.asked = nil
	for i, raw := range []string{"M-0013", "M-0014", "M-0015"} {
		in := typed{Session: "line", N: uint64(i + 2), Raw: raw, Offline: true, Waiting: 2 - i}
		in.At = events.At(at.Add(time.Duration(2*i-60) * time.Second))
		if said, err := s.scan(t.Context(), in); err != nil || said.Outcome != workflow.Kept {
			t.Fatal(said, err)
		}
	}
	if len(away.asked) != 4 || s.kept.Late != nil {
		t.Errorf("asked %v, late %+v", away.asked, s.kept.Late)
	}
	var finish workflow.Said
	finish, err := s.scan(t.Context(), typed{Session: "line", N: 9, Raw: "!FINISH-CARTON", Offline: true, At: events.At(at)})
	if err != nil || finish.Code != "E-SYS-01" {
		t.Errorf("counting from an outbox: %+v %v", finish, err)
	}
}

// TestTwoPiecesStayTwo sends two scans of one code that a hand did a second apart,
// and that came at once; and two that a reader gave in a moment, and that came a
// second apart.
func TestTwoPiecesStayTwo(t *testing.T) {
	f, _, s := noon(t)
	s = reopened(t, f, s, t.TempDir())
	say(t, s, 1, "C-02")
	at := f.now()
	for i, x := range []struct {
		after time.Duration
		want  workflow.Outcome
	}{{0, workflow.Kept}, {time.Second, workflow.Kept}, {1300 * time.Millisecond, workflow.Already}, {3 * time.Second, workflow.Kept}} {
		said, err := s.scan(t.Context(), typed{Session: "tab", N: uint64(i + 1), Raw: "T-22", At: events.At(at.Add(x.after))})
		if err != nil || (said.Outcome == workflow.Already) != (x.want == workflow.Already) {
			t.Errorf("after %s: %+v %v", x.after, said, err)
		}
	}
}
