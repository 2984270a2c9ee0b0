package audit_test

import (
	"bytes"
	"strings"
	"testing"

	"packwright/audit"
	"packwright/audit/follow"
	"packwright/events"
)

type failer interface {
	Helper()
	Fatal(args ...any)
}

// roundTrip saves a follower and restores it.
func roundTrip(t failer, r *follow.Follower) *follow.Follower {
	t.Helper()
	var b bytes.Buffer
	if err := r.Save(&b); err != nil {
		t.Fatal(err)
	}
	again, err := follow.Restore(&b)
	if err != nil {
		t.Fatal(err)
	}
	return again
}

func save(t testing.TB, f *audit.Fold) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := f.Save(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// TestSnapshotIsWhole: at every tenth frame of the day, what was saved, loaded and
// saved again is the same to the byte, and reading on from there ends where a
// reading from the first event ends, to the byte.
func TestSnapshotIsWhole(t *testing.T) {
	for name, f := range map[string]*floor{"day": lanternDay(t), "every move": everyMove(t)} {
		whole := save(t, f.read())
		r := follow.New()
		for i, frame := range f.frames {
			if _, err := r.Take(uint64(i+1), frame); err != nil {
				t.Fatal(err)
			}
			if i%10 != 0 && i < len(f.frames)-2 {
				continue
			}
			again := roundTrip(t, r)
			var a, b []byte
			r.View(func(f *audit.Fold) { a = save(t, f) })
			again.View(func(f *audit.Fold) { b = save(t, f) })
			if !bytes.Equal(a, b) {
				t.Fatalf("%s, frame %d: saved again it differs", name, i+1)
			}
			r = again
		}
		r.View(func(fold *audit.Fold) {
			if !bytes.Equal(save(t, fold), whole) {
				t.Errorf("%s: read in pieces it ends otherwise than read at once", name)
			}
			tr, err := fold.TraceMark(2)
			want, err2 := f.read().TraceMark(2)
			if err != nil || err2 != nil || tr.String() != want.String() {
				t.Errorf("%s: a trace after a restore:\n%s\nand without:\n%s", name, tr, want)
			}
		})
	}
}

// TestSnapshotFails: one that was cut or changed anywhere is never loaded.
func TestSnapshotFails(t *testing.T) {
	whole := save(t, everyMove(t).read())
	for cut := 0; cut < len(whole); cut += 97 {
		if _, err := audit.Load(bytes.NewReader(whole[:cut])); err == nil {
			t.Fatalf("the first %d of %d bytes were loaded", cut, len(whole))
		}
	}
	for at := 0; at < len(whole)-1; at += 31 {
		bad := bytes.Clone(whole)
		bad[at] ^= 1
		if _, err := audit.Load(bytes.NewReader(bad)); err == nil {
			t.Fatalf("byte %d changed, and it was loaded: %.60q", at, whole[max(0, at-30):])
		}
	}
	if _, err := audit.Load(strings.NewReader(`{"version":999}` + "\n")); err == nil || !strings.Contains(err.Error(), "version 999") {
		t.Errorf("%v", err)
	}
}

// TestSnapshotOfNothing: an empty fold is saved and loaded too.
func TestSnapshotOfNothing(t *testing.T) {
	f, err := audit.Load(bytes.NewReader(save(t, audit.New())))
	if err != nil || f.Digest() != (events.Digest{}) || f.Events() != 0 {
		t.Errorf("%v", err)
	}
	e := everyMove(t).list[0]
	if err := f.Apply(&e); err != nil {
		t.Error(err)
	}
}
