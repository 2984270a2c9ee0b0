package floors

import (
	"time"

	"packwright/events"
	"packwright/workflow"
)

// Answer is what a bench hears. With an error the outcome is not known, and the
// same command is sent again.
type Answer struct {
	Outcome workflow.Outcome
	Code    workflow.Code
	Seq     events.Seq // first event, when there is one
	Err     error
}

// kept says that the command is in the log by this answer.
func (a Answer) kept() bool { return a.Outcome == workflow.Kept || a.Outcome == workflow.Call }

// Door is whatever keeps a floor.
type Door interface {
	// Do gives commands that reach the floor at one moment, in this order, and
	// an answer for each. now is the writer's clock.
	Do(now time.Time, cmds []workflow.Command) []Answer
	// Look shows the screens. fn changes nothing and keeps nothing.
	Look(fn func(*workflow.Floor))
}
