package events_test

import (
	"bytes"
	"errors"
	"testing"

	"packwright/events"
)

// FuzzSplitFrame: frames come from a disk, a bus, a backup, a running hub. What
// is read as a frame is written back as it was; what is not is ErrCorrupt.
func FuzzSplitFrame(f *testing.F) {
	frame, err := events.EncodeFrame(events.Header{Frame: "hub-1", Floor: "yard", Size: 0}, [][]byte{[]byte(`{"type":"a"}`), []byte(`{"type":"b"}`)})
	if err != nil {
		f.Fatal(err)
	}
	f.Add(frame)
	f.Add(frame[:len(frame)-1])
	f.Add([]byte("{}\n"))
	f.Add([]byte{})
	f.Fuzz(func(t *testing.T, raw []byte) {
		h, lines, err := events.SplitFrame(raw)
		if err != nil {
			if !errors.Is(err, events.ErrCorrupt) {
				t.Fatalf("not ErrCorrupt: %v", err)
			}
			return
		}
		again, err := events.EncodeFrame(h, lines)
		if err != nil {
			t.Fatalf("read, and cannot be written: %v", err)
		}
		back, same, err := events.SplitFrame(again)
		if err != nil || back != h || len(same) != len(lines) {
			t.Fatalf("%+v with %d lines comes back as %+v with %d: %v", h, len(lines), back, len(same), err)
		}
		for i := range lines {
			if !bytes.Equal(lines[i], same[i]) {
				t.Fatalf("line %d: %q comes back as %q", i, lines[i], same[i])
			}
		}
	})
}
