package events

import (
	"testing"

	"packwright/prep"
)

// placed is the commonest event of a day.
func placed() *Event {
	t, _ := ParseTime("2031-03-04T13:51:24Z")
	return &Event{Cause: "ST-2/1/123", Sum: "0a1b2c3d", At: t, Recorded: t.Add(120_000_000), Basis: Scan, Station: "ST-2", Badge: "ife", PlanRev: 2, RulesRev: 5,
		Data: &UnitPlaced{Carton: "C-02", Item: "MG3", Lot: "L-02", Run: "R-07", From: "T-27", Q: 1, Marks: prep.Marks{19}}}
}

func BenchmarkEncode(b *testing.B) {
	e := placed()
	var buf []byte
	b.ReportAllocs()
	for b.Loop() {
		var err error
		if buf, err = Encode(buf[:0], e); err != nil {
			b.Fatal(err)
		}
	}
	b.SetBytes(int64(len(buf)))
}

func BenchmarkDecode(b *testing.B) {
	line, err := Encode(nil, placed())
	if err != nil {
		b.Fatal(err)
	}
	b.SetBytes(int64(len(line)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Decode(line); err != nil {
			b.Fatal(err)
		}
	}
}
