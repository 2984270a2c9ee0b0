package floors

import (
	"fmt"
	"time"

	"golang.org/x/mod/sumdb/tlog"

	"packwright/events"
	"packwright/events/proof"
	"packwright/workflow"
)

// Desk is the shortest Door there is: it decides, applies and frames, one frame
// for the commands of one moment. Nothing is lost and nothing fails; what an
// engine adds is what a Desk lacks.
type Desk struct {
	Events int // in the frames so far

	floor *workflow.Floor
	chain proof.Chain
	lines [][]byte
	out   func(seq uint64, frame []byte) error
}

// NewDesk gives a desk for a floor under a policy. out is given each frame; its
// error ends in a panic, since nobody could go on.
func NewDesk(p *workflow.Policy, out func(seq uint64, frame []byte) error) *Desk {
	k := &Desk{floor: workflow.NewFloor(p), chain: proof.Chain{Floor: Floor, Next: 1}, out: out}
	k.floor.KnowHeads(func(frame uint64) (int64, tlog.Hash, bool) {
		return k.chain.Tree.Size, k.chain.Tree.Root(), frame > 0 && frame+1 == k.chain.Next
	})
	return k
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
	h := events.Header{Frame: fmt.Sprintf("desk-%d", k.chain.Next), Floor: Floor, Size: k.chain.Tree.Size, Root: k.chain.Tree.Root(), Cells: k.floor.Ledger.Digest()}
	frame, err := events.EncodeFrame(h, k.lines)
	if err != nil {
		panic(err)
	}
	for _, l := range k.lines {
		k.chain.Tree.Add(l)
	}
	if err := k.out(k.chain.Next, frame); err != nil {
		panic(err)
	}
	k.Events += len(k.lines)
	k.lines = k.lines[:0]
	k.chain.Next++
}

// Look shows the floor.
func (k *Desk) Look(fn func(*workflow.Floor)) { fn(k.floor) }
