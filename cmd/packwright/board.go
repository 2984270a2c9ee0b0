package main

import "packwright/audit"

// boardCommand shows the floor as somebody who must decide needs it.
type boardCommand struct{ atFlag }

var boardQuestion = question[audit.Board]{"/board", "every carton, what blocks it, whether the truck can go; ?at=",
	func(v view, _ asked) (audit.Board, error) { return v.Board(v.now), nil }}

func (c *boardCommand) Run(d *desk) error { return tell(d, boardQuestion, asked{"at": c.At}) }
