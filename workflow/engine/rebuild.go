package engine

import (
	"context"
	"errors"
	"fmt"
	"time"

	"packwright/events"
	"packwright/events/proof"
	"packwright/workflow"
)

// rebuild reads the floor from the newest believable snapshot and the log after it.
func (e *Engine) rebuild(ctx context.Context) error {
	last, err := e.cfg.Log.Last(ctx)
	if err != nil {
		return err
	}
	floor, chain, err := e.fromSnapshot(ctx, last)
	if err != nil {
		return err
	}
	if floor == nil {
		floor, chain = workflow.NewFloor(e.cfg.Policy), proof.Chain{Floor: e.cfg.Floor, Next: 1}
	}
	e.snapped = chain.Tree.Size
	if err := Replay(ctx, e.cfg.Log, floor, &chain); err != nil {
		return err
	}
	if chain.Next-1 < last {
		return fmt.Errorf("%w: the log had %d frames and gave %d", events.ErrCorrupt, last, chain.Next-1)
	}
	floor.KnowHeads(e.heads.at)
	e.heads.know(floor.Eras)
	e.floor, e.chain = floor, chain
	e.setHead(chain.Next-1, chain.Tree.Size, chain.Tree.Root())
	return nil
}

// Replay folds the log from chain.Next on into floor, and checks every frame's
// header against the tree and against the floor's own cells.
func Replay(ctx context.Context, log events.Log, floor *workflow.Floor, chain *proof.Chain) error {
	return proof.Ahead(ctx, log, max(chain.Next, 1), func(p proof.Page) error {
		if err := chain.Turn(p); err != nil {
			return err
		}
		for i := range p.Events {
			if err := floor.Apply(&p.Events[i]); err != nil {
				return err
			}
		}
		if got := floor.Ledger.Digest(); got != p.Header.Cells {
			return fmt.Errorf("%w: frame %d says its cells sum to %.16s; read were %.16s", events.ErrCorrupt, p.Seq, p.Header.Cells, got)
		}
		return nil
	})
}

// reread rebuilds after a lost append, for as long as the log cannot be
// reached. Askers meanwhile hear that it is away.
func (e *Engine) reread() error {
	for pause := appendPause; ; pause = min(2*pause, 5*time.Second) {
		err := e.rebuild(context.Background())
		if err == nil || !errors.Is(err, events.ErrUnreachable) {
			return err
		}
		after := time.After(pause)
		for waiting := true; waiting; {
			select {
			case r := <-e.in:
				r.out <- reply{err: fmt.Errorf("%s: %w", r.cmd.ID, events.ErrUnreachable)}
			case <-after:
				waiting = false
			case <-e.done:
				return errClosed
			}
		}
	}
}
