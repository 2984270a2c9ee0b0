package main

import "packwright/audit"

// irregularCommand lists what an auditor asks for first.
type irregularCommand struct{ atFlag }

var irregularQuestion = question[audit.Irregular]{"/irregular", "all that was let pass, told late, refused or out of order; ?at=",
	func(v view, _ asked) (audit.Irregular, error) { return v.Irregular(), nil }}

func (c *irregularCommand) Run(d *desk) error {
	return tell(d, irregularQuestion, asked{"at": c.At})
}
