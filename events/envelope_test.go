package events

import (
	"bytes"
	"errors"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"testing"
	"time"
)

// samples gives every line that is kept on disk.
func samples(tb testing.TB) (lines [][]byte) {
	tb.Helper()
	files, err := filepath.Glob("../testdata/events/*.json")
	if err != nil || len(files) == 0 {
		tb.Fatal("no samples", err)
	}
	for _, f := range files {
		b, err := os.ReadFile(f)
		if err != nil {
			tb.Fatal(err)
		}
		lines = append(lines, bytes.TrimSpace(b))
	}
	return lines
}

// bothAgree demands that a line means the same to Decode, which tries the quick
// way first, and to the general decoder alone.
func bothAgree(t *testing.T, line []byte) {
	t.Helper()
	quick, err1 := Decode(bytes.Clone(line))
	slow, err2 := decode(bytes.Clone(line))
	if (err1 == nil) != (err2 == nil) || err1 != nil && err1.Error() != err2.Error() {
		t.Fatalf("%q\nquick: %v\n slow: %v", line, err1, err2)
	}
	if err1 != nil && !errors.Is(err1, ErrCorrupt) {
		t.Fatalf("%q: %v", line, err1)
	}
	if !reflect.DeepEqual(quick, slow) {
		t.Fatalf("%q\nquick: %+v\n slow: %+v", line, quick, slow)
	}
}

// TestEnvelopeIsScanned: what Encode writes goes the quick way.
func TestEnvelopeIsScanned(t *testing.T) {
	for _, line := range samples(t) {
		e, err := decode(line)
		if err != nil {
			t.Fatal(err)
		}
		out, err := Encode(nil, &e)
		if err != nil {
			t.Fatal(err)
		}
		w, ok := scanEnvelope(out)
		if !ok {
			t.Errorf("not scanned: %s", out)
			continue
		}
		if d, ok := e.Data.(*UnitPlaced); ok && len(d.Serials) == 0 && !d.Pour && !new(UnitPlaced).scan(w.Data) {
			t.Errorf("body not scanned: %s", out)
		}
		if got, err := w.event(scanBody); err != nil || !reflect.DeepEqual(got, e) {
			t.Errorf("%s\n got %+v, %v\nwant %+v", out, got, err, e)
		}
	}
}

// TestBothDecodersAgree breaks each sample in many ways, among them those that
// a scanner of fixed keys could fall for.
func TestBothDecodersAgree(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	pieces := [][]byte{[]byte(`"`), []byte(`\`), []byte(`}`), []byte(`{`), []byte(`,`), []byte(` `), []byte("\n"), []byte("\x00"), []byte("é"), []byte{0xff},
		[]byte(`,"data":{`), []byte(`"data":{}`), []byte(`,"sum":"`), []byte(`,"at":null`), []byte(`,"plan_rev":-1`), []byte(`,"plan_rev":01`), []byte(`,"V":2`),
		[]byte(`\u0041`), []byte(`2031-02-29T00:00:00Z`), []byte(`null`), []byte(`1e3`), []byte(`}}`), []byte(`,"type":"tote.cleared"`)}
	for _, line := range samples(t) {
		bothAgree(t, line)
		for n := range line {
			bothAgree(t, line[:n])
		}
		for range 400 {
			bad := bytes.Clone(line)
			for range 1 + r.IntN(2) {
				i, j, p := r.IntN(len(bad)+1), 0, pieces[r.IntN(len(pieces))]
				if j = i; r.IntN(2) == 0 {
					j = min(len(bad), i+r.IntN(12))
				}
				bad = append(append(bytes.Clone(bad[:i]), p...), bad[j:]...)
			}
			bothAgree(t, bad)
		}
	}
}

func FuzzBothDecoders(f *testing.F) {
	for _, line := range samples(f) {
		f.Add(line)
	}
	f.Fuzz(bothAgree)
}

// TestFastTime: the quick reader says what the long way says, or that it does not know.
func TestFastTime(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	signs := "0123456789TZ:.-+ "
	for range 200_000 {
		when := time.UnixMilli(r.Int64N(1<<43) - 1<<40).In(time.FixedZone("", (r.IntN(49)-24)*1800))
		b := []byte(when.Format([]string{time.RFC3339, "2006-01-02T15:04:05.000Z07:00"}[r.IntN(2)]))
		for range r.IntN(3) {
			b[r.IntN(len(b))] = signs[r.IntN(len(signs))]
		}
		got, ok := fastTime(b)
		if !ok {
			continue
		}
		want, err := time.Parse(time.RFC3339Nano, string(b))
		if err != nil || got != At(want) {
			t.Fatalf("%s: %v, the long way %v, %v", b, got, At(want), err)
		}
	}
}

// TestIntern: equal texts are one, and different texts that fall on one place are kept apart.
func TestIntern(t *testing.T) {
	for i := range 5000 {
		s := time.Duration(i).String()
		if got := intern([]byte(s)); got != s {
			t.Fatalf("%q came back as %q", s, got)
		}
	}
	b := []byte("ST-1")
	if n := testing.AllocsPerRun(100, func() { intern(b) }); n > 0 {
		t.Errorf("%v allocations for a text seen before", n)
	}
}
