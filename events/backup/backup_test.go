package backup_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"
	"time"

	"packwright/events"
	"packwright/events/backup"
	"packwright/events/memlog"
	"packwright/events/proof"
	"packwright/prep"
)

// frames writes a log of n true frames, 1 to 3 events each.
func frames(t testing.TB, n int) (out [][]byte) {
	t.Helper()
	var tree proof.Tree
	start := time.Date(2031, 3, 4, 8, 0, 0, 0, time.UTC)
	for i := 1; i <= n; i++ {
		var lines [][]byte
		for k := range 1 + i%3 {
			at := events.At(start.Add(time.Duration(i) * time.Minute))
			line, err := events.Encode(nil, &events.Event{Cause: fmt.Sprintf("ST-1/1/%d", 10*i+k), Station: "ST-1", At: at, Recorded: at, Basis: events.Scan,
				Data: &events.ToteCleared{Tote: fmt.Sprintf("T-%d", k)}})
			if err != nil {
				t.Fatal(err)
			}
			lines = append(lines, line)
		}
		frame, err := events.EncodeFrame(events.Header{Frame: fmt.Sprint("w-", i), Floor: "yard", Size: tree.Size, Root: tree.Root()}, lines)
		if err != nil {
			t.Fatal(err)
		}
		for _, l := range lines {
			tree.Add(l)
		}
		out = append(out, frame)
	}
	return out
}

var about = backup.Header{Floor: "yard", Taken: events.At(time.Date(2031, 3, 4, 20, 0, 0, 0, time.UTC)), Currency: prep.Currency{Code: "EUR", Digits: 2}}

func written(t testing.TB, list [][]byte) ([]byte, backup.Sums) {
	t.Helper()
	var b bytes.Buffer
	_, sums, err := backup.Write(t.Context(), &b, memlog.New(list...), about, nil)
	if err != nil {
		t.Fatal(err)
	}
	return b.Bytes(), sums
}

func TestRoundTrip(t *testing.T) {
	list := frames(t, 9)
	raw, sums := written(t, list)
	var got [][]byte
	h, again, err := backup.Read(bytes.NewReader(raw), func(seq uint64, frame []byte) error {
		if got = append(got, frame); seq != uint64(len(got)) {
			t.Errorf("frame %d is the %d. read", seq, len(got))
		}
		return nil
	})
	if err != nil || again != sums || h.Floor != "yard" || h.To != 9 || h.Currency != about.Currency || h.Taken != about.Taken {
		t.Fatalf("%+v, %+v, %v", h, again, err)
	}
	for i := range list {
		if !bytes.Equal(list[i], got[i]) {
			t.Errorf("frame %d came back otherwise", i+1)
		}
	}
	if sums.Frames != 9 || sums.Events != 18 {
		t.Errorf("%+v", sums)
	}
	if _, _, err := backup.Write(t.Context(), io.Discard, memlog.New(), about, nil); !errors.Is(err, events.ErrNotFound) {
		t.Errorf("an empty log: %v", err)
	}
}

// growing is a log to which a frame is added while it is read.
type ctx = context.Context

type growing struct {
	*memlog.Log
	t    *testing.T
	more [][]byte
}

func (g *growing) Last(ctx ctx) (uint64, error) {
	n, err := g.Log.Last(ctx)
	for i, f := range g.more { // before the scan begins
		if err := g.Append(ctx, n+uint64(i), f); err != nil {
			g.t.Fatal(err)
		}
	}
	g.more = nil
	return n, err
}

// TestWhilePacking: frames that come meanwhile are left for the next backup.
func TestWhilePacking(t *testing.T) {
	list := frames(t, 8)
	var b bytes.Buffer
	h, sums, err := backup.Write(t.Context(), &b, &growing{memlog.New(list[:5]...), t, list[5:]}, about, nil)
	if err != nil || h.To != 5 || sums.Frames != 5 {
		t.Fatalf("%+v, %+v, %v", h, sums, err)
	}
	if _, again, err := backup.Read(&b, nil); err != nil || again != sums {
		t.Fatalf("%+v, %v", again, err)
	}
}

// TestUnbelievable: a log that does not agree with itself is not backed up.
func TestUnbelievable(t *testing.T) {
	list := frames(t, 6)
	list[2], list[3] = list[3], list[2]
	if _, _, err := backup.Write(t.Context(), io.Discard, memlog.New(list...), about, nil); !errors.Is(err, events.ErrCorrupt) || !strings.Contains(err.Error(), "frame 3") {
		t.Errorf("%v", err)
	}
}

// TestEveryDamage flips each bit's byte, cuts at each byte and doubles each line:
// always a Damage, or no backup at all, and never a frame that was not written.
func TestEveryDamage(t *testing.T) {
	list := frames(t, 4)
	raw, _ := written(t, list)
	starts := frameStarts(raw, list)
	judge := func(what string, at int, bad []byte) {
		t.Helper()
		n := 0
		_, _, err := backup.Read(bytes.NewReader(bad), func(seq uint64, frame []byte) error {
			if !bytes.Equal(frame, list[seq-1]) {
				t.Errorf("%s at %d: frame %d is another", what, at, seq)
			}
			n++
			return nil
		})
		var d *backup.Damage
		var in *prep.InputError
		switch {
		case errors.As(err, &d):
			if d.At > int64(at) || !errors.Is(err, backup.ErrDamaged) || !errors.Is(err, events.ErrCorrupt) {
				t.Errorf("%s at %d: %v", what, at, err)
			}
			if in := inFrame(starts, list, at); in > 0 && what == "flip" && (d.Frame != uint64(in) || n != in-1) {
				t.Errorf("%s at %d is in frame %d: after %d frames %v", what, at, in, n, err)
			}
		case !errors.As(err, &in) || n > 0:
			t.Errorf("%s at %d: %v after %d frames", what, at, err, n)
		}
	}
	for at := range raw {
		bad := bytes.Clone(raw)
		bad[at] ^= 0x04
		judge("flip", at, bad)
		judge("cut", at, raw[:at])
	}
	judge("tail", len(raw), append(bytes.Clone(raw), 'x'))
}

// frameStarts finds where the bytes of each frame begin.
func frameStarts(raw []byte, list [][]byte) (out []int) {
	for _, f := range list {
		out = append(out, bytes.Index(raw, f))
	}
	return out
}

func inFrame(starts []int, list [][]byte, at int) int {
	for i, s := range starts {
		if at >= s && at < s+len(list[i]) {
			return i + 1
		}
	}
	return 0
}

func TestNoBackup(t *testing.T) {
	for _, text := range []string{"", "hello\n", "packwright backup 2 {}\n", "packwright backup 7 nothing of today\n"} {
		var in *prep.InputError
		if _, _, err := backup.Read(strings.NewReader(text), nil); !errors.As(err, &in) {
			t.Errorf("%q: %v", text, err)
		}
	}
	long := "packwright backup 1 {" + strings.Repeat("x", 1<<20)
	if _, _, err := backup.Read(strings.NewReader(long), nil); !errors.Is(err, backup.ErrDamaged) {
		t.Errorf("%v", err)
	}
}

func TestAsLog(t *testing.T) {
	list := frames(t, 5)
	raw, _ := written(t, list)
	log := backup.Log{Open: func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(raw)), nil }}
	if last, err := log.Last(t.Context()); err != nil || last != 5 {
		t.Fatalf("%d, %v", last, err)
	}
	if frame, err := log.Read(t.Context(), 3); err != nil || !bytes.Equal(frame, list[2]) {
		t.Errorf("frame 3: %v", err)
	}
	if _, err := log.Read(t.Context(), 6); !errors.Is(err, events.ErrNotFound) {
		t.Errorf("frame 6: %v", err)
	}
	seen := 0
	if err := log.Scan(t.Context(), 4, func(uint64, []byte) error { seen++; return nil }); err != nil || seen != 2 {
		t.Errorf("%d frames from the fourth on, %v", seen, err)
	}
	if err := log.Append(t.Context(), 5, list[0]); !errors.Is(err, errors.ErrUnsupported) {
		t.Errorf("%v", err)
	}
}

// FuzzRead feeds arbitrary files: frames in order and a nil error only when the
// whole file is proven, else an error; no panic, and no more memory than a frame.
func FuzzRead(f *testing.F) {
	raw, _ := written(f, frames(f, 3))
	f.Add(raw)
	f.Add(raw[:len(raw)/2])
	f.Add([]byte("packwright backup 1 00000000 {\"floor\":\"x\",\"from\":1,\"to\":18446744073709551615}\nframe 1 786432 00000000\n"))
	f.Fuzz(func(t *testing.T, b []byte) {
		n := uint64(0)
		h, s, err := backup.Read(bytes.NewReader(b), func(seq uint64, frame []byte) error {
			if n++; seq != n || len(frame) == 0 || len(frame) > events.MaxFrame {
				t.Fatalf("frame %d of %d bytes after %d", seq, len(frame), n-1)
			}
			return nil
		})
		if err == nil && (n != h.To || s.Frames != n) {
			t.Fatalf("%d frames, %+v, %+v", n, h, s)
		}
	})
}
