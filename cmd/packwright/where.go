package main

import "packwright/audit"

// whereCommand says where something is, and where it goes.
type whereCommand struct {
	Of string `arg:"" help:"A mark, item, lot, tote, carton or run."`
	atFlag
}

var whereQuestion = question[audit.Where]{"/where/{of}", "where a mark, item, lot, tote, carton or run is, and where it goes; ?at=",
	func(v view, say asked) (audit.Where, error) { return v.Where(say["of"]) }}

func (c *whereCommand) Run(d *desk) error {
	return tell(d, whereQuestion, asked{"of": c.Of, "at": c.At})
}
