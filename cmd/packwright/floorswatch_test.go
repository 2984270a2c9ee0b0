package main

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"

	json "github.com/goccy/go-json"

	"packwright/events"
	"packwright/events/proof"
	"packwright/prep"
	"packwright/testdata/floors"
	"packwright/testdata/floors/plain"
	"packwright/workflow"
	"packwright/workflow/engine"
)

// foreseen is what deciding a command gave before the engine was asked.
type foreseen struct {
	state string // digest of the whole floor
	lines []string
	no    bool
}

// foresee decides a command without the engine, now and then, and demands that
// deciding changes nothing of the floor.
func (tr *trial) foresee(c *workflow.Command) (g *foreseen) {
	if tr.broken || !tr.dice.Percent(8) {
		return nil
	}
	tr.Look(func(f *workflow.Floor) {
		before := tr.state(f)
		dec, err := workflow.Decide(f, c, events.Max(events.At(tr.clock), f.Recorded))
		if after := tr.state(f); after != before {
			tr.found("deciding %s %s changed the floor", c.Type, c.Data)
		}
		g = &foreseen{state: before, no: err != nil || len(dec.Events) == 0}
		for i := range dec.Events {
			line, err := events.Encode(nil, &dec.Events[i])
			if err != nil {
				tr.t.Fatal(err)
			}
			g.lines = append(g.lines, string(line))
		}
	})
	return g
}

// state is a digest of all that the floor remembers.
func (tr *trial) state(f *workflow.Floor) string {
	s, err := engine.Digest(f)
	if err != nil {
		tr.t.Fatal(err)
	}
	return s
}

// found says what is wrong, once a day.
func (tr *trial) found(format string, args ...any) {
	if tr.broken {
		return
	}
	tr.broken = true
	tr.t.Errorf("seed %d: "+format, append([]any{tr.d.Seed}, args...)...)
	tr.story = append(tr.story, "^^^ here")
	tr.t.Logf("the end of the story until then:\n%s", tr.told(true))
}

// watch reads what came of a batch and compares everybody's view of it.
func (tr *trial) watch(cmds []workflow.Command, out []floors.Answer, guess *foreseen) {
	fresh := tr.readOn()
	for i, c := range cmds {
		tr.story = append(tr.story, fmt.Sprintf("%s %s %s %s%s → %s", tr.clock.Format("15:04:05"), c.ID, c.Badge, c.Type, briefly(c), outcomeOf(out[i])))
		if !tr.broken {
			tr.heard(c, out[i], fresh)
		}
	}
	if tr.broken {
		return
	}
	if guess != nil && len(cmds) == 1 && out[0].Err == nil {
		tr.asForeseen(&cmds[0], out[0], guess, fresh)
	}
	tr.Look(func(f *workflow.Floor) {
		if f.Ledger.Digest() != tr.model.Digest() {
			tr.found("the books differ from what the commands say:\n%s", tr.difference(f))
		}
	})
	if err := tr.books.CatchUp(context.Background(), tr.log); err != nil {
		tr.found("the audit: %v", err)
	}
	if wrong := tr.books.Breaches(); len(wrong) > 0 {
		tr.found("%d laws broken, the first: %s", len(wrong), wrong[0])
	}
	if tr.batches%90 == 0 {
		tr.checkpoint()
	}
}

// briefly is a command's data and how it came, as the story tells it.
func briefly(c workflow.Command) string {
	s := " " + string(c.Data)
	if len(s) > 300 {
		s = s[:300] + "…"
	}
	if c.Matter != "" {
		s += " for " + c.Matter
	}
	if c.Offline {
		s += " (offline)"
	}
	return s
}

// readOn reads the frames that are new, and demands that no command stands in
// the log twice. It gives where the commands that are new stand.
func (tr *trial) readOn() map[string]events.Seq {
	fresh := map[string]events.Seq{}
	err := tr.log.Scan(context.Background(), tr.read+1, func(seq uint64, frame []byte) error {
		_, lines, err := events.SplitFrame(frame)
		if err != nil {
			return err
		}
		list, err := events.DecodeLines(seq, lines)
		for i, e := range list {
			tr.events++
			tr.lines[e.Seq] = string(lines[i])
			if e.Sum == "" || e.Type() == "scan.refused" {
				continue
			}
			if at, twice := tr.first[e.Cause]; twice {
				tr.found("%s stands in the log at %s and %s", e.Cause, at, e.Seq)
			}
			tr.first[e.Cause], fresh[e.Cause], tr.says[e.Cause] = e.Seq, e.Seq, e.Data
		}
		tr.read = seq
		return err
	})
	if err != nil {
		tr.t.Fatalf("seed %d: %v", tr.d.Seed, err)
	}
	return fresh
}

// heard holds an answer against the log, and tells the second opinion of what was kept.
func (tr *trial) heard(c workflow.Command, a floors.Answer, fresh map[string]events.Seq) {
	at, known := tr.first[c.ID]
	_, isNew := fresh[c.ID]
	kept := a.Outcome == workflow.Kept || a.Outcome == workflow.Call
	switch {
	case a.Err == nil && kept && (!isNew || at != a.Seq):
		tr.found("%s was answered %s at %s, and the log has it at %s", c.ID, a.Outcome, a.Seq, at)
	case a.Err == nil && a.Outcome == workflow.No && known && a.Code != "E-SYS-04":
		tr.found("%s stands at %s and was answered no %s", c.ID, at, a.Code)
	case !isNew || tr.says[c.ID] == nil:
		return
	}
	said := plain.Told{Station: strings.Split(c.ID, "/")[0], Badge: c.Badge, Type: c.Type, Data: c.Data, Seq: at, Code: string(a.Code)}
	switch first := tr.says[c.ID]; {
	case kept && a.Err == nil:
		said.Late = c.Offline && a.Outcome == workflow.Call && !(c.Type == "hold" && a.Code == "E-HLD-01")
	case first.Type() == "late.reported": // nobody heard the answer; the log has it
		said.Late = true
	case c.Type == "dispatch" && first.Type() != "carton.dispatched":
		said.Code = "E-DSP-01"
	}
	tr.says[c.ID] = nil // told once
	if err := tr.model.Tell(said); err != nil {
		tr.found("the second opinion: %v", err)
	}
}

// asForeseen: the engine kept just the events that deciding gave, and a refusal changed nothing at all.
func (tr *trial) asForeseen(c *workflow.Command, a floors.Answer, g *foreseen, fresh map[string]events.Seq) {
	at, kept := fresh[c.ID]
	for i, want := range g.lines {
		if got := tr.lines[events.Seq{Frame: at.Frame, Index: at.Index + i}]; kept && got != want {
			tr.found("decided twice:\n%s\n%s", want, got)
		}
	}
	if g.no {
		tr.Look(func(f *workflow.Floor) {
			if tr.state(f) != g.state {
				tr.found("%s %s was answered %s %s and changed the floor", c.Type, c.Data, a.Outcome, a.Code)
			}
		})
	}
}

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
	f := workflow.NewFloor(tr.d.Policy)
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
