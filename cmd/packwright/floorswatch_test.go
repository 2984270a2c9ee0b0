package main

import (
	"context"
	"fmt"
	"strings"

	"packwright/events"
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
