package bench

import (
	"fmt"
	"time"

	"golang.org/x/mod/sumdb/tlog"

	"packwright/events"
	"packwright/events/proof"
	"packwright/workflow"
)

// Frames gives a log of at least n events of a floor with benches at work, so
// many events a frame. Every event was decided by the floor's own rules, each a
// second after the one before.
func Frames(n, benches, perFrame int) ([][]byte, error) {
	w := &writer{floor: workflow.NewFloor(nil), chain: proof.Chain{Floor: Floor, Next: 1}, per: perFrame, now: time.Date(2031, 3, 4, 6, 0, 0, 0, time.UTC)}
	if err := w.take(Founding(benches)); err != nil {
		return nil, err
	}
	list := make([]*Bench, benches)
	for i := range list {
		list[i] = NewBench(i)
	}
	for w.chain.Tree.Size < int64(n) {
		for _, b := range list { // benches take turns, a command each
			if err := w.take(b.Take(1)); err != nil {
				return nil, err
			}
		}
		w.now = w.now.Add(time.Second)
	}
	w.flush()
	return w.frames, nil
}

// writer frames events without a store.
type writer struct {
	floor  *workflow.Floor
	chain  proof.Chain
	per    int
	now    time.Time
	root   tlog.Hash
	size   int64
	lines  [][]byte
	frames [][]byte
}

func (w *writer) take(list []workflow.Command) error {
	for i := range list {
		dec, err := workflow.Decide(w.floor, &list[i], events.At(w.now))
		if err == nil && dec.Outcome != workflow.Kept {
			err = fmt.Errorf("%s: %v", dec.Outcome, dec.Refusal)
		}
		for k := range dec.Events {
			if err == nil {
				err = w.add(&dec.Events[k])
			}
		}
		if err != nil {
			return fmt.Errorf("%s %s %s: %w", list[i].ID, list[i].Type, list[i].Data, err)
		}
	}
	return nil
}

func (w *writer) add(e *events.Event) error {
	if len(w.lines) == 0 {
		w.root, w.size = w.chain.Tree.Root(), w.chain.Tree.Size
	}
	e.Seq = events.Seq{Frame: w.chain.Next, Index: len(w.lines)}
	line, err := events.Encode(nil, e)
	if err != nil {
		return err
	}
	if err := w.floor.Apply(e); err != nil {
		return err
	}
	w.chain.Tree.Add(line)
	if w.lines = append(w.lines, line); len(w.lines) == w.per {
		w.flush()
	}
	return nil
}

// flush closes the frame that gathers.
func (w *writer) flush() {
	if len(w.lines) == 0 {
		return
	}
	frame, err := events.EncodeFrame(events.Header{Frame: fmt.Sprintf("bench-%d", w.chain.Next), Floor: Floor,
		Size: w.size, Root: w.root, Cells: w.floor.Ledger.Digest()}, w.lines)
	if err != nil {
		panic(err) // a header of strings and numbers always encodes
	}
	w.frames, w.lines = append(w.frames, frame), nil
	w.chain.Next++
}
