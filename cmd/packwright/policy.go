package main

import (
	"cmp"
	"fmt"
	"io"

	"packwright/workflow"
)

// policyCommand groups what is asked about the policy.
type policyCommand struct {
	Check policyCheck `cmd:"" help:"Read a policy file and say what the house gives up by it."`
}

type policyCheck struct {
	File string `arg:"" optional:"" help:"The file (default: the floor's own)."`
}

func (c *policyCheck) Run(d *desk) error {
	name := cmp.Or(c.File, place(d.Data).policy())
	src, err := d.readFile(name)
	if err != nil {
		return err
	}
	p, err := workflow.ParsePolicy(name, src)
	if err != nil {
		return err
	}
	said := workflow.Sentences(p)
	return d.show(map[string]any{"file": name, "persons": p.Persons, "gives_up": said}, func(w io.Writer) {
		for _, s := range said {
			fmt.Fprintln(w, s)
		}
	})
}
