package events_test

import (
	"math/rand/v2"
	"testing"

	"packwright/events"
	"packwright/prep"
)

// TestCellHash compares with values worked out by another program from the
// definition: SHA-256 over lot, item, stage, place, each followed by a zero
// byte, and the mark as four bytes, big-endian.
func TestCellHash(t *testing.T) {
	figure := events.Cell{Lot: "L-02", Item: "MG3", Stage: events.Prepped, Place: "T-02", Mark: 19}
	discs := events.Cell{Lot: "L-06", Item: "DSC", Stage: events.Dispatched}
	for _, c := range []struct {
		cell events.Cell
		want string
	}{
		{figure, "722e1470dc7305830bcb8859875aa41a43dc1044a4684d14727d5f353298e962"},
		{discs, "acbbf133eaa77fcb748efcfca2abc12dfffb93228051e2d2b348867b918ece2d"},
	} {
		if got := c.cell.Hash().String(); got != c.want {
			t.Errorf("%+v: %s, want %s", c.cell, got, c.want)
		}
	}
	var d events.Digest
	d.Add(figure.Hash(), 1)
	d.Add(discs.Hash(), 12)
	if got, want := d.String(), "8afd62dfdc4d0307827f64312767b23643a6f5e2a83eeeecd9e3ad00054a937e"; got != want {
		t.Errorf("1 figure and 12 discs: %s, want %s", got, want)
	}
}

// TestCellHashTellsFieldsApart: letters that wander from one field to the next
// give another cell.
func TestCellHashTellsFieldsApart(t *testing.T) {
	seen := map[events.Digest]events.Cell{}
	for _, c := range []events.Cell{
		{Lot: "L-1", Item: "A", Stage: events.Held, Place: "T"},
		{Lot: "L-1A", Item: "", Stage: events.Held, Place: "T"},
		{Lot: "L-1", Item: "AT", Stage: events.Held, Place: ""},
		{Lot: "L-1", Item: "A", Stage: events.Held, Place: "T", Mark: 1},
		{Lot: "L-1", Item: "A", Stage: events.Held, Place: "T", Mark: 1 << 24},
		{Lot: "L-1", Item: "A", Stage: events.Received, Place: "T"},
	} {
		if other, ok := seen[c.Hash()]; ok {
			t.Errorf("%+v and %+v have one hash", c, other)
		}
		seen[c.Hash()] = c
	}
}

// TestDigestIsOrderFree: the same moves in any order, and moves there and back,
// end in the same digest.
func TestDigestIsOrderFree(t *testing.T) {
	const seed = 7
	r := rand.New(rand.NewPCG(seed, seed))
	type part struct {
		h events.Digest
		n int
	}
	var parts []part
	for i := range 200 {
		c := events.Cell{Lot: "L-01", Item: "MG3", Stage: events.Stages[i%len(events.Stages)], Place: "T-01", Mark: prep.Mark(i)}
		parts = append(parts, part{c.Hash(), r.IntN(50) - 25})
	}
	var a, b events.Digest
	for _, p := range parts {
		a.Add(p.h, p.n)
	}
	r.Shuffle(len(parts), func(i, j int) { parts[i], parts[j] = parts[j], parts[i] })
	for _, p := range parts {
		b.Add(p.h, p.n)
	}
	if a != b {
		t.Errorf("seed %d: %s and %s", seed, a, b)
	}
	for _, p := range parts {
		b.Add(p.h, -p.n)
	}
	if b != (events.Digest{}) {
		t.Errorf("all taken back leaves %s", b)
	}
}

func TestDigestText(t *testing.T) {
	d := events.Digest{1, 0xfedcba9876543210, 0, 1 << 63}
	if d.String() != "0000000000000001fedcba987654321000000000000000008000000000000000" {
		t.Errorf("shown as %s", d)
	}
	text, err := d.MarshalText()
	if err != nil || string(text) != "AAAAAAAAAAH+3LqYdlQyEAAAAAAAAAAAgAAAAAAAAAA=" {
		t.Fatalf("%s, %v", text, err)
	}
	var back events.Digest
	if err := back.UnmarshalText(text); err != nil || back != d {
		t.Errorf("read back %s, %v", back, err)
	}
	for _, bad := range []string{"", "00", string(text) + "00", "!!" + string(text[2:])} {
		if err := back.UnmarshalText([]byte(bad)); err == nil {
			t.Errorf("%q was read as a digest", bad)
		}
	}
}

// TestStages: the list people read holds every stage once, and those that have
// left the floor keep no place.
func TestStages(t *testing.T) {
	gone := map[events.Stage]bool{events.Dispatched: true, events.Diverted: true, events.WrittenOff: true, events.Consumed: true, events.Unaccounted: true}
	seen := map[events.Stage]bool{}
	for _, s := range events.Stages {
		if seen[s] {
			t.Errorf("%s twice", s)
		}
		seen[s] = true
		if s.Gone() != gone[s] {
			t.Errorf("%s.Gone() = %v", s, s.Gone())
		}
	}
	if len(seen) != 12 {
		t.Errorf("%d stages", len(seen))
	}
	for v, want := range map[events.Verdict]events.Stage{events.ToPrep: events.Triaged, events.ToHold: events.Held, events.ToDivert: events.Diverted, events.ToWriteOff: events.WrittenOff} {
		if v.Stage() != want {
			t.Errorf("verdict %s leads to %s", v, v.Stage())
		}
	}
}
