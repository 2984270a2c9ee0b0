package main

import (
	"fmt"
	"io"

	"packwright/audit"
	"packwright/events"
	"packwright/prep"
)

type claimTrace struct {
	Claim string `arg:"" help:"The claim: CL-01."`
	byline
}

// traced is a claim's trace, and the head of the log it is true for.
type traced struct {
	Claim string      `json:"claim"`
	Trace audit.Trace `json:"trace"`
	Root  string      `json:"log_root"`
	Kept  *events.Seq `json:"kept_as,omitempty"` // the event that keeps it
}

// Text writes the trace, then where it is kept.
func (t traced) Text(w io.Writer) error {
	if err := t.Trace.Text(w); err != nil {
		return err
	}
	if t.Kept == nil {
		return nil
	}
	_, err := fmt.Fprintf(w, "%s keeps this: set of %d, log head %s, root %.16s, as event %s\n", t.Claim, t.Trace.Size, t.Trace.Head, t.Root, t.Kept)
	return err
}

// claimTraceQuestion traces what a claim says.
var claimTraceQuestion = question[traced]{"/claim/{claim}/trace", "the units that a claim can be about", func(v view, say asked) (traced, error) {
	c, err := v.Claim(say["claim"])
	if err != nil {
		return traced{}, err
	}
	t := traced{Claim: c.Claim, Root: v.root}
	switch g := c.Given; {
	case g.Mark > 0:
		t.Trace, err = v.TraceMark(g.Mark)
	case g.Item != "" || g.Carton != "":
		t.Trace, err = v.TraceUnits(audit.Ask{Item: g.Item, Carton: g.Carton})
	default:
		err = prep.Input(c.Claim+" names no mark, item or carton", "ask the other side which, and open the claim anew with it")
	}
	return t, err
}}

// Run traces, and gives what was found to the floor to keep.
func (c *claimTrace) Run(d *desk) (err error) {
	t, err := d.tellAs(c.byline)
	if err != nil {
		return err
	}
	defer func() { err = worse(err, t.close()) }()
	found, err := c.find(d, t)
	if err != nil {
		return err
	}
	marks := prep.Marks{}
	for _, u := range found.Trace.Units {
		marks = append(marks, u.Mark)
	}
	a := t.ask("trace-claim", map[string]any{"claim": c.Claim, "candidates": prep.NewMarks(marks...), "size": found.Trace.Size,
		"query": found.Trace.Query, "log_head": found.Trace.Head, "log_root": found.Root}, events.Keyed)
	if err := a.Err(); err != nil {
		return err
	}
	if a.Seq != nil {
		found.Kept = &events.Seq{Frame: a.Seq[0], Index: int(a.Seq[1])}
	}
	return d.say(found)
}

// find asks the hub, or reads the log that the teller has open.
func (c *claimTrace) find(d *desk, t *teller) (traced, error) {
	say := asked{"claim": c.Claim}
	open, local := t.floor.(opened)
	if !local {
		return ask(d, claimTraceQuestion, say)
	}
	a := newAuditor(open.hub.log)
	if err := a.read(d.ctx); err != nil {
		return traced{}, err
	}
	return claimTraceQuestion.by(d.ctx, a, say)
}
