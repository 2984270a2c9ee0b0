package main

import (
	"context"
	"sync"

	"packwright/cmd/packwright/door"
	"packwright/workflow"
	"packwright/workflow/engine"
)

// light is green until something has made the hub unbelievable. Then it takes no
// more commands, and stays up to say so.
type light struct {
	mu  sync.Mutex
	red error
	out chan struct{} // closed when it turns red
}

func newLight() *light { return &light{out: make(chan struct{})} }

// turn makes the light red; the first reason stays.
func (l *light) turn(why error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.red == nil && why != nil {
		l.red = why
		close(l.out)
	}
}

// why gives the reason for red, nil while it is green.
func (l *light) why() error {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.red
}

// lit is a floor that takes commands while its light is green. A bench that was
// told of a head which the log does not have turns it red: what was acknowledged
// once is gone, and more work on top would only bury it.
type lit struct {
	door.Floor
	light *light
}

func (f lit) Ask(ctx context.Context, c workflow.Command) door.Answer {
	if err := f.light.why(); err != nil {
		return door.Troubled(c.ID, err)
	}
	a := f.Floor.Ask(ctx, c)
	if a.Refusal != nil && a.Refusal.Code == workflow.Behind().Code {
		f.light.turn(behind("the bench of "+c.ID, engine.Head{Frame: c.Held, Root: c.HeldRoot}, engine.Head{Frame: a.Frame, Root: a.Root}))
	}
	return a
}
