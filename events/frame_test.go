package events_test

import (
	"bytes"
	"errors"
	"slices"
	"strings"
	"testing"

	"golang.org/x/mod/sumdb/tlog"

	"packwright/events"
)

func header(t *testing.T) events.Header {
	t.Helper()
	return events.Header{Frame: "W1-000001", Floor: "lantern-yard", Size: 41, Root: tlog.Hash{0xab, 31: 0xcd}, Cells: events.Digest{1, 2, 3, 1 << 63}}
}

func lines(t *testing.T, names ...events.Type) [][]byte {
	t.Helper()
	var out [][]byte
	for _, n := range names {
		out = append(out, sample(t, n, 1))
	}
	return out
}

func TestFrameRoundTrip(t *testing.T) {
	h, ls := header(t), lines(t, "unit.placed", "count.entered", "mismatch.raised")
	frame, err := events.EncodeFrame(h, ls)
	if err != nil {
		t.Fatal(err)
	}
	if n := bytes.Count(frame, []byte("\n")); n != 4 || frame[len(frame)-1] != '\n' {
		t.Fatalf("%d line ends in a frame of a header and 3 events", n)
	}
	got, gotLines, err := events.SplitFrame(frame)
	if err != nil {
		t.Fatal(err)
	}
	h.N = 3
	if got != h {
		t.Errorf("header\n got %+v\nwant %+v", got, h)
	}
	if !slices.EqualFunc(gotLines, ls, bytes.Equal) {
		t.Errorf("lines came back as %q", gotLines)
	}
	list, err := events.DecodeLines(12, gotLines)
	if err != nil {
		t.Fatal(err)
	}
	for i, e := range list {
		if want := (events.Seq{Frame: 12, Index: i}); e.Seq != want {
			t.Errorf("event %d stands at %s, want %s", i, e.Seq, want)
		}
	}
}

// TestOlderFrame: frames with the longer header are read for ever; one of both
// kinds is nobody's.
func TestOlderFrame(t *testing.T) {
	const older = `{"frame":"W1-000001","floor":"lantern-yard","size":41,"root":"qwAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAM0=","cells":"AAAAAAAAAAEAAAAAAAAAAgAAAAAAAAADgAAAAAAAAAA=","n":2}`
	ls := lines(t, "unit.placed", "tote.cleared")
	body := "\n" + string(ls[0]) + "\n" + string(ls[1]) + "\n"
	got, gotLines, err := events.SplitFrame([]byte(older + body))
	want := header(t)
	if want.N = 2; err != nil || got != want || !slices.EqualFunc(gotLines, ls, bytes.Equal) {
		t.Errorf("%+v, %v", got, err)
	}
	for what, bad := range map[string]string{
		"two names":          strings.Replace(older, "{", `{"id":"W2",`, 1),
		"a hash cut":         strings.Replace(older, `qwAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAM0=","cells`, `qwAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAM","cells`, 1),
		"bits behind a hash": strings.Replace(older, `AM0=","cells`, `AM1=","cells`, 1),
		"a hash of 31 bytes": strings.Replace(older, `"root":"qwAA`, `"root":"`, 1),
	} {
		if _, _, err := events.SplitFrame([]byte(bad + body)); bad == older || !errors.Is(err, events.ErrCorrupt) {
			t.Errorf("%s: %v", what, err)
		}
	}
}

// TestFrameLinesDoNotShareRoom: appending to one line must not write into the next.
func TestFrameLinesDoNotShareRoom(t *testing.T) {
	frame, err := events.EncodeFrame(header(t), lines(t, "unit.placed", "tote.cleared"))
	if err != nil {
		t.Fatal(err)
	}
	_, ls, err := events.SplitFrame(frame)
	if err != nil {
		t.Fatal(err)
	}
	before := string(ls[1])
	_ = append(ls[0], "XXXXXXXX"...)
	if string(ls[1]) != before {
		t.Error("the second line was overwritten")
	}
}

// TestFrameCutAnywhere: a frame that lost its tail, from one byte to all, is
// never taken for a frame.
func TestFrameCutAnywhere(t *testing.T) {
	frame, err := events.EncodeFrame(header(t), lines(t, "unit.placed", "tote.cleared"))
	if err != nil {
		t.Fatal(err)
	}
	for n := range frame {
		if _, _, err := events.SplitFrame(frame[:n]); !errors.Is(err, events.ErrCorrupt) {
			t.Fatalf("the first %d of %d bytes: %v", n, len(frame), err)
		}
	}
	for what, bad := range map[string][]byte{
		"a line too many":     append(slices.Clone(frame), "{}\n"...),
		"header is no object": []byte("hello\nworld\n"),
		"says none":           []byte(`{"frame":"x","n":0}` + "\n"),
		"says fewer than 0":   []byte(`{"frame":"x","n":-1}` + "\n{}\n"),
		"says a great many":   []byte(`{"frame":"x","n":4000000000}` + "\n{}\n"),
	} {
		if _, _, err := events.SplitFrame(bad); !errors.Is(err, events.ErrCorrupt) {
			t.Errorf("%s: %v", what, err)
		}
	}
}

func TestDecodeLinesNamesThePlace(t *testing.T) {
	_, err := events.DecodeLines(77, [][]byte{sample(t, "unit.placed", 1), []byte(`{"type":"unit.vanished"}`)})
	if !errors.Is(err, events.ErrCorrupt) || !strings.Contains(err.Error(), "77.1") {
		t.Errorf("%v", err)
	}
}
