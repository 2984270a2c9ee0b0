package main

import (
	"errors"
	"fmt"
	"io"

	"packwright/audit"
	"packwright/events"
	"packwright/prep"
)

// replayCommand folds the log up to a moment and shows what was known then.
type replayCommand struct {
	Until string `required:"" placeholder:"TIME" help:"Up to what was recorded then: 17:41, 2031-03-04T13:52:53Z."`
	State string `placeholder:"NAME" help:"Of this carton, lot, tote, run, item or mark; without it, of all lots and plans."`
}

// replayed is the floor as the log knew it.
type replayed struct {
	Until  events.Time           `json:"until"`
	Head   events.Seq            `json:"log_head"`
	Events int64                 `json:"events"`
	Cells  events.Digest         `json:"cells"`
	Carton *audit.Contents       `json:"carton,omitempty"`
	Where  *audit.Where          `json:"where,omitempty"`
	All    *audit.Reconciliation `json:"all,omitempty"`
}

var (
	replayQuestion = question[replayed]{"/replay", "the log folded up to a moment; ?at= ?state=", answerReplay}

	reconcileQuestion = question[audit.Reconciliation]{"/reconcile", "every carton, lot and run against what was planned, announced, printed; ?at=",
		func(v view, _ asked) (audit.Reconciliation, error) { return v.Reconcile(), nil }}
)

func answerReplay(v view, say asked) (replayed, error) {
	if say["at"] == "" {
		return replayed{}, prep.Input("a replay without an end", "say up to when with ?at=")
	}
	r := replayed{Until: v.now, Head: v.Last(), Events: v.Events(), Cells: v.Digest()}
	if say["state"] == "" {
		all := v.Reconcile()
		r.All = &all
		return r, nil
	}
	if c, ok := v.Contents(say["state"]); ok {
		r.Carton = &c
		return r, nil
	}
	at, err := v.Where(say["state"])
	r.Where = &at
	return r, err
}

// Text writes the head that was reached, then the state.
func (r replayed) Text(w io.Writer) error {
	_, err := fmt.Fprintf(w, "%d events, up to %s, recorded by %s; books %.16s\n", r.Events, r.Head, r.Until, r.Cells)
	switch {
	case r.Carton != nil:
		return errors.Join(err, r.Carton.Text(w))
	case r.Where != nil:
		return errors.Join(err, r.Where.Text(w))
	case r.All != nil:
		return errors.Join(err, r.All.Text(w))
	}
	return err
}

func (c *replayCommand) Run(d *desk) error {
	return tell(d, replayQuestion, asked{"at": c.Until, "state": c.State})
}
