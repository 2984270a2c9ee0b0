package floors

import (
	"fmt"
	"time"

	"packwright/events"
	"packwright/events/proof"
	"packwright/workflow"
)

// Desk is the shortest Door there is: it decides, applies and frames, one frame
// for the commands of one moment, and keeps the frames. Nothing is lost and
// nothing fails; what an engine adds is what a Desk lacks.
type Desk struct {
	Frames [][]byte
	Events int

	floor *workflow.Floor
	chain proof.Chain
	lines [][]byte
}

// NewDesk gives a desk for a floor under a policy.
func NewDesk(p *workflow.Policy) *Desk {
	return &Desk{floor: workflow.NewFloor(p), chain: proof.Chain{Floor: Floor, Next: 1}}
}

// Do decides each command and frames what comes of all.
func (k *Desk) Do(now time.Time, cmds []workflow.Command) []Answer {
	out := make([]Answer, len(cmds))
	for i := range cmds {
		out[i] = k.decide(&cmds[i], events.At(now))
	}
	k.Flush()
	return out
}

func (k *Desk) decide(c *workflow.Command, now events.Time) Answer {
	dec, err := workflow.Decide(k.floor, c, events.Max(now, k.floor.Recorded))
	if err != nil {
		return Answer{Outcome: workflow.No, Code: "input"}
	}
	a := Answer{Outcome: dec.Outcome, Seq: dec.First}
	if dec.Refusal != nil {
		a.Code = dec.Refusal.Code
	}
	for i := range dec.Events {
		e := &dec.Events[i]
		e.Seq = events.Seq{Frame: k.chain.Next, Index: len(k.lines)}
		line, err := events.Encode(nil, e)
		if err == nil {
			err = k.floor.Apply(e)
		}
		if err != nil {
			panic(fmt.Sprintf("%s %s: %v", c.ID, c.Type, err))
		}
		if i == 0 {
			a.Seq = e.Seq
		}
		k.lines = append(k.lines, line)
	}
	return a
}

// Flush closes the frame that gathers, if there is one.
func (k *Desk) Flush() {
	if len(k.lines) == 0 {
		return
	}
	h := events.Header{Frame: fmt.Sprintf("desk-%d", k.chain.Next), Floor: Floor, Writer: "desk", Recorded: k.floor.Recorded,
		Size: k.chain.Tree.Size, Root: proof.Hex(k.chain.Tree.Root()), Cells: k.floor.Ledger.Digest()}
	frame, err := events.EncodeFrame(h, k.lines)
	if err != nil {
		panic(err)
	}
	for _, l := range k.lines {
		k.chain.Tree.Add(l)
	}
	k.Events += len(k.lines)
	k.Frames, k.lines = append(k.Frames, frame), nil
	k.chain.Next++
}

// Look shows the floor.
func (k *Desk) Look(fn func(*workflow.Floor)) { fn(k.floor) }
