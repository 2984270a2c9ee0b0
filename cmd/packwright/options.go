package main

import (
	"fmt"

	"packwright/audit"
	"packwright/events"
)

// optionsCommand lists the lawful ways out of a mismatch.
type optionsCommand struct {
	Of string `arg:"" help:"A mismatch, or a carton that one blocks: X-02, C-07."`
	As string `placeholder:"BADGE" help:"As seen by this badge: what it may close comes first."`
	atFlag
}

var optionsQuestion = question[audit.Options]{"/options/{of}", "the lawful ways out of a mismatch; ?as=BADGE ?at=", answerOptions}

func answerOptions(v view, say asked) (audit.Options, error) {
	of := say["of"]
	if c, ok := v.Contents(of); ok {
		if len(c.Blockers) == 0 {
			return audit.Options{}, nothing(fmt.Sprintf("%s is %s; no mismatch blocks it", of, c.State), "there is nothing to settle")
		}
		of = c.Blockers[0]
	}
	var roles []events.Role
	if say["as"] != "" {
		b, err := v.Badge(say["as"])
		if err != nil {
			return audit.Options{}, err
		}
		roles = b.Roles
	}
	o, err := v.Options(of, roles)
	if err == nil && o.State == "resolved" {
		return o, nothing(of+" is resolved", "ask why "+of+" to see how")
	}
	return o, err
}

func (c *optionsCommand) Run(d *desk) error {
	return tell(d, optionsQuestion, asked{"of": c.Of, "as": c.As, "at": c.At})
}
