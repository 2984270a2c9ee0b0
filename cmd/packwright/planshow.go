package main

import (
	"fmt"
	"strconv"

	"packwright/audit"
	"packwright/prep"
)

type planShow struct {
	Rev  int    `arg:"" optional:"" help:"The revision; without one, that in force."`
	Plan string `placeholder:"PLAN" help:"The plan; without one, that released last."`
	atFlag
}

type planDiff struct {
	From int    `arg:"" help:"A revision."`
	To   int    `arg:"" help:"Another."`
	Plan string `placeholder:"PLAN" help:"The plan; without one, that released last."`
	atFlag
}

var (
	planQuestion = question[audit.PlanView]{"/plan", "a plan at a revision, and what waits for an answer; ?plan= ?rev= ?at=",
		func(v view, say asked) (out audit.PlanView, err error) {
			rev := 0
			if say["rev"] != "" {
				if rev, err = revision(say["rev"]); err != nil {
					return out, err
				}
			}
			return v.PlanAt(say["plan"], rev)
		}}
	planDiffQuestion = question[audit.PlanDiff]{"/plan/diff", "two revisions of a plan, line by line; ?plan= ?from= ?to= ?at=",
		func(v view, say asked) (out audit.PlanDiff, err error) {
			from, err := revision(say["from"])
			if err != nil {
				return out, err
			}
			to, err := revision(say["to"])
			if err != nil {
				return out, err
			}
			return v.PlanDiff(say["plan"], from, to)
		}}
)

func revision(s string) (int, error) {
	n, err := strconv.Atoi(s)
	if err != nil || n < 1 {
		return 0, prep.Input(fmt.Sprintf("%q is no revision of a plan", s), "give a number from 1 on")
	}
	return n, nil
}

func (c *planShow) Run(d *desk) error {
	say := asked{"plan": c.Plan, "at": c.At}
	if c.Rev != 0 {
		say["rev"] = strconv.Itoa(c.Rev)
	}
	return tell(d, planQuestion, say)
}

func (c *planDiff) Run(d *desk) error {
	return tell(d, planDiffQuestion, asked{"plan": c.Plan, "from": strconv.Itoa(c.From), "to": strconv.Itoa(c.To), "at": c.At})
}
