package main

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"

	json "github.com/goccy/go-json"
	"golang.org/x/mod/sumdb/tlog"

	"packwright/events"
	"packwright/events/proof"
	"packwright/prep"
	"packwright/testdata/floors"
	"packwright/testdata/floors/plain"
	"packwright/workflow"
	"packwright/workflow/engine"
)

// cellsOf lists a floor's books as the second opinion lists its own.
func cellsOf(f *workflow.Floor) (map[events.Cell]int, error) {
	b, err := json.Marshal(f.Ledger)
	if err != nil {
		return nil, err
	}
	var books struct {
		Cells []struct {
			Lot, Item, Place string
			Stage            events.Stage
			N                int
			Marks            prep.Marks
		}
	}
	if err := json.Unmarshal(b, &books); err != nil {
		return nil, err
	}
	n := map[events.Cell]int{}
	for _, x := range books.Cells {
		c := events.Cell{Lot: x.Lot, Item: x.Item, Stage: x.Stage, Place: x.Place}
		if x.N > 0 {
			n[c] = x.N
		}
		for _, m := range x.Marks {
			c.Mark = m
			n[c] = 1
		}
	}
	return n, nil
}

// difference lists the cells in which books and second opinion differ. Lots of
// which everything has left are not in the books any more.
func (tr *trial) difference(f *workflow.Floor) string {
	books, err := cellsOf(f)
	if err != nil {
		return err.Error()
	}
	mine := tr.model.Cells()
	var out []string
	for c := range mine {
		if books[c] != mine[c] && (f.Lots[c.Lot] != nil || !c.Stage.Gone()) {
			out = append(out, fmt.Sprintf("%s, books %d", plain.Line(c, mine[c]), books[c]))
		}
	}
	for c, n := range books {
		if mine[c] == 0 {
			out = append(out, fmt.Sprintf("%s, commands say 0", plain.Line(c, n)))
		}
	}
	slices.Sort(out)
	return strings.Join(out, "\n")
}

// checkpoint compares the listings in full, and the floor read from event 1.
func (tr *trial) checkpoint() {
	fresh, chain := workflow.NewFloor(tr.d.Policy), proof.Chain{Floor: floors.Floor, Next: 1}
	if err := engine.Replay(context.Background(), tr.log, fresh, &chain); err != nil {
		tr.found("read from event 1: %v", err)
		return
	}
	tr.Look(func(f *workflow.Floor) {
		if diff := tr.difference(f); diff != "" {
			tr.found("the listings differ:\n%s", diff)
		}
		if tr.state(f) != tr.state(fresh) {
			tr.found("read from event 1 the floor is another: %s", otherwise(f, fresh))
		}
	})
}

// otherwise names the first field in which two floors differ.
func otherwise(a, b *workflow.Floor) string {
	var x, y map[string]json.RawMessage
	for f, into := range map[*workflow.Floor]*map[string]json.RawMessage{a: &x, b: &y} {
		body, _ := json.Marshal(f)
		_ = json.Unmarshal(body, into)
	}
	for _, k := range slices.Sorted(maps.Keys(x)) {
		if string(x[k]) != string(y[k]) {
			return fmt.Sprintf("%s\nlive %s\nread %s", k, x[k], y[k])
		}
	}
	return "nowhere"
}

// whole looks back on a day: checkpoint, and the log decided again from event 1.
func (tr *trial) whole() {
	if tr.broken {
		return
	}
	tr.checkpoint()
	f, heads := workflow.NewFloor(tr.d.Policy), tr.heads()
	f.KnowHeads(func(frame uint64) (int64, tlog.Hash, bool) {
		h, ok := heads[frame]
		return h.N, h.Hash, ok
	})
	for seq := uint64(1); seq <= tr.read && !tr.broken; seq++ {
		for i := 0; !tr.broken; {
			line, more := tr.lines[events.Seq{Frame: seq, Index: i}]
			if !more {
				break
			}
			i += tr.again(f, events.Seq{Frame: seq, Index: i}, line)
		}
	}
}

// heads gives the head of the log after each frame.
func (tr *trial) heads() map[uint64]tlog.Tree {
	out, tree := map[uint64]tlog.Tree{}, proof.Tree{}
	for seq := uint64(1); seq <= tr.read; seq++ {
		for i := 0; ; i++ {
			line, more := tr.lines[events.Seq{Frame: seq, Index: i}]
			if !more {
				break
			}
			tree.Add([]byte(line))
		}
		out[seq] = tlog.Tree{N: tree.Size, Hash: tree.Root()}
	}
	return out
}

// again decides the command whose first event stands at a place, and demands
// the very bytes that the log has. It gives how many lines that were.
func (tr *trial) again(f *workflow.Floor, at events.Seq, line string) int {
	e, err := events.Decode([]byte(line))
	if err != nil {
		tr.t.Fatal(err)
	}
	c := tr.cmds[e.Cause]
	dec, err := workflow.Decide(f, &c, e.Recorded)
	if err != nil || len(dec.Events) == 0 {
		tr.found("decided again, %s gives %s %v %v; the log has %s", e.Cause, dec.Outcome, dec.Refusal, err, line)
		return 1
	}
	for i := range dec.Events {
		x := &dec.Events[i]
		x.Seq = events.Seq{Frame: at.Frame, Index: at.Index + i}
		got, err := events.Encode(nil, x)
		if err != nil {
			tr.t.Fatal(err)
		}
		if want := tr.lines[x.Seq]; string(got) != want {
			tr.found("decided again, %s gives\n%s\nand the log has\n%s", e.Cause, got, want)
			return 1
		}
		if err := f.Apply(x); err != nil {
			tr.found("%v", err)
		}
	}
	return len(dec.Events)
}
