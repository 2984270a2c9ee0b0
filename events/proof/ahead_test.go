package proof_test

import (
	"context"
	"errors"
	"slices"
	"testing"

	"packwright/events"
	"packwright/events/memlog"
	"packwright/events/proof"
)

// long makes a log of n frames that follow each other.
func long(t *testing.T, n int) [][]byte {
	t.Helper()
	var tree proof.Tree
	var frames [][]byte
	for range n {
		line, err := events.Encode(nil, &events.Event{Cause: "ST-1/1/1", Data: &events.ToteCleared{Tote: "T-01"}})
		if err != nil {
			t.Fatal(err)
		}
		b, err := events.EncodeFrame(events.Header{Floor: "f", Size: tree.Size, Root: tree.Root()}, [][]byte{line})
		if err != nil {
			t.Fatal(err)
		}
		tree.Add(line)
		frames = append(frames, b)
	}
	return frames
}

// TestAheadInOrder: pages come in order and chain up as frames taken one by one do.
func TestAheadInOrder(t *testing.T) {
	frames := long(t, 500)
	var ahead, plain proof.Chain
	err := proof.Ahead(t.Context(), memlog.New(frames...), 1, ahead.Turn)
	if err != nil {
		t.Fatal(err)
	}
	for i, f := range frames {
		if _, _, err := plain.Take(uint64(i+1), f); err != nil {
			t.Fatal(err)
		}
	}
	if ahead.Next != 501 || !slices.Equal(ahead.Tree.Peaks, plain.Tree.Peaks) || ahead.Tree.Size != plain.Tree.Size {
		t.Errorf("%+v\n%+v", ahead, plain)
	}
}

// TestAheadStops: all pages before a bad frame are read, none after; a reader
// that has had enough is not called again; a context that is done ends it.
func TestAheadStops(t *testing.T) {
	frames := long(t, 300)
	frames[250] = frames[250][:len(frames[250])-2]
	read := 0
	err := proof.Ahead(t.Context(), memlog.New(frames...), 1, func(proof.Page) error { read++; return nil })
	if !errors.Is(err, events.ErrCorrupt) || read != 250 {
		t.Errorf("%d pages before the bad one, %v", read, err)
	}
	enough := errors.New("enough")
	read = 0
	err = proof.Ahead(t.Context(), memlog.New(frames...), 1, func(proof.Page) error {
		if read++; read == 10 {
			return enough
		}
		return nil
	})
	if !errors.Is(err, enough) || read != 10 {
		t.Errorf("read %d, %v", read, err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if err := proof.Ahead(ctx, memlog.New(long(t, 200)...), 1, func(proof.Page) error { return nil }); !errors.Is(err, context.Canceled) {
		t.Errorf("done before it began: %v", err)
	}
}
