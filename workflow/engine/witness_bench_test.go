package engine

import (
	"testing"

	"packwright/events/memlog"
	"packwright/workflow"
)

// BenchmarkWitness compares the head a bench was told of last, as every command
// of a bench does.
func BenchmarkWitness(b *testing.B) {
	e := open(b, memlog.New(), nil)
	var a Answer
	for _, c := range founding() {
		var err error
		if a, err = e.Do(b.Context(), c); err != nil {
			b.Fatal(err)
		}
	}
	if _, err := e.Do(b.Context(), arrivals(1)[0]); err != nil { // so that it is not the newest any more
		b.Fatal(err)
	}
	c := workflow.Command{Held: a.Frame, HeldRoot: a.Root}
	b.ReportAllocs()
	for b.Loop() {
		if no, err := e.witness(b.Context(), &c); no != nil || err != nil {
			b.Fatal(no, err)
		}
	}
}
