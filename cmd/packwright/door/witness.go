package door

import (
	"context"
	"sync"

	"packwright/workflow"
)

// Witness is a floor as a bench sees it that remembers: with each command it shows
// the newest head that an answer told it of. A hub whose log has lost that head,
// or has another in its place, says E-SYS-05. When the owner has accepted that
// frames are lost, answers name another era, and heads of the one before are forgotten.
type Witness struct {
	Floor

	mu   sync.Mutex
	seen uint64 // frame
	root string
	era  string
}

// NewWitness remembers what a floor answers from now on.
func NewWitness(f Floor) *Witness { return &Witness{Floor: f} }

// Ask shows what was told, passes the command on, and remembers what comes back.
// A command that shows a head already keeps it.
func (w *Witness) Ask(ctx context.Context, c workflow.Command) Answer {
	w.mu.Lock()
	if c.Held == 0 {
		c.Held, c.HeldRoot, c.HeldEra = w.seen, w.root, w.era
	}
	w.mu.Unlock()
	a := w.Floor.Ask(ctx, c)
	w.mu.Lock()
	defer w.mu.Unlock()
	strange := a.Refusal != nil && a.Refusal.Code == workflow.Behind().Code
	if a.Answered() && !strange && a.Root != "" && (a.Frame > w.seen || a.Era != w.era) {
		w.seen, w.root, w.era = a.Frame, a.Root, a.Era
	}
	return a
}
