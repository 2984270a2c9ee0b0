package engine

import (
	"context"
	"slices"
	"sync"

	"golang.org/x/mod/sumdb/tlog"

	"packwright/events"
	"packwright/events/proof"
	"packwright/workflow"
)

// pastHeads remembers the newest heads, so that a bench that shows the one it
// was told of last costs no reading of the log. It may be used by many goroutines.
type pastHeads struct {
	mu   sync.RWMutex
	ring [events.HeadReach]pastHead
	eras []workflow.Era // durable ones
}

type pastHead struct {
	frame uint64
	size  int64
	root  tlog.Hash
}

func (p *pastHeads) add(frame uint64, size int64, root tlog.Hash) {
	p.mu.Lock()
	p.ring[frame%uint64(len(p.ring))] = pastHead{frame, size, root}
	p.mu.Unlock()
}

// know takes the eras of a floor that was read from the log.
func (p *pastHeads) know(eras []workflow.Era) {
	p.mu.Lock()
	p.eras = slices.Clone(eras)
	p.mu.Unlock()
}

// durable learns of eras that began in a frame.
func (p *pastHeads) durable(evs []events.Event) {
	for i := range evs {
		if d, ok := evs[i].Data.(*events.LogRestored); ok {
			p.mu.Lock()
			p.eras = append(p.eras, workflow.Era{Name: d.Era, Since: d.Since(), Seq: evs[i].Seq})
			p.mu.Unlock()
		}
	}
}

// era names the one that stands.
func (p *pastHeads) era() string {
	p.mu.RLock()
	defer p.mu.RUnlock()
	if len(p.eras) == 0 {
		return ""
	}
	return p.eras[len(p.eras)-1].Name
}

// given says whether a head is one that the owner has accepted as lost.
func (p *pastHeads) given(era string, frame uint64) bool {
	p.mu.RLock()
	defer p.mu.RUnlock()
	return workflow.LostTo(p.eras, era, frame)
}

// at gives the head after a frame; it fits workflow.Heads.
func (p *pastHeads) at(frame uint64) (size int64, root tlog.Hash, ok bool) {
	p.mu.RLock()
	defer p.mu.RUnlock()
	h := p.ring[frame%uint64(len(p.ring))]
	return h.size, h.root, h.frame == frame && frame > 0
}

// witness compares the head that a bench was told of with this log's own: the
// frame must be there, and the root after it the same. Otherwise an older or
// another log stands in the place of the one the bench knows, and E-SYS-05 says
// so. Only durable frames are asked about, and they never change, so it runs
// beside the loop. A head that was lost and accepted as lost by the owner is no
// witness any more. A head too old to be remembered is read from the header of the
// frame that follows it. Errors: those of Log.Read.
func (e *Engine) witness(ctx context.Context, c *workflow.Command) (*workflow.Refusal, error) {
	if c.Held == 0 {
		return nil, nil
	}
	newest := e.Head()
	switch {
	case e.heads.given(c.HeldEra, c.Held):
		return nil, nil // the answer names the era, and the bench forgets
	case c.Held > newest.Frame:
		return workflow.Behind(), nil
	case c.HeldRoot == "":
		return nil, nil // it only counts frames
	case c.Held == newest.Frame:
		return unlike(c.HeldRoot, newest.Root), nil
	}
	if _, root, ok := e.heads.at(c.Held); ok {
		return unlike(c.HeldRoot, proof.Hex(root)), nil
	}
	frame, err := e.cfg.Log.Read(ctx, c.Held+1)
	if err != nil {
		return nil, err
	}
	h, _, err := events.SplitFrame(frame)
	if err != nil {
		return nil, err
	}
	return unlike(c.HeldRoot, proof.Hex(h.Root)), nil
}

// Has says whether the log has a head that somebody was told of: the frame, with
// the root after it; or whether the owner has accepted that it is lost. Errors:
// those of Log.Read.
func (e *Engine) Has(ctx context.Context, told Head) (bool, error) {
	no, err := e.witness(ctx, &workflow.Command{Held: told.Frame, HeldRoot: told.Root, HeldEra: told.Era})
	return no == nil, err
}

func unlike(held, root string) *workflow.Refusal {
	if held == root {
		return nil
	}
	return workflow.Behind()
}
