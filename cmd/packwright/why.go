package main

import (
	"packwright/audit"
)

// whyCommand lays planned, scanned, counted and weighed side by side.
type whyCommand struct {
	Of string `arg:"" help:"A carton or a mismatch: C-07, X-02."`
	atFlag
}

var whyQuestion = question[audit.Why]{"/why/{of}", "the evidence about a carton or a mismatch; ?at=",
	func(v view, say asked) (audit.Why, error) { return v.Why(say["of"]) }}

func (c *whyCommand) Run(d *desk) error { return tell(d, whyQuestion, asked{"of": c.Of, "at": c.At}) }
