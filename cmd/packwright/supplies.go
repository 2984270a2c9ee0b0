package main

import "packwright/audit"

// suppliesCommand lists the lots of material.
type suppliesCommand struct {
	atFlag
}

var suppliesQuestion = question[audit.SupplyRoom]{"/supplies", "lots of material: received, used by the recipes, counted, blocked; ?at=", func(v view, _ asked) (audit.SupplyRoom, error) {
	return v.Supplies(), nil
}}

func (c *suppliesCommand) Run(d *desk) error {
	return tell(d, suppliesQuestion, asked{"at": c.At})
}
