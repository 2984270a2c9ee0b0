package main

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"packwright/cmd/packwright/sheet"
	"packwright/events"
	"packwright/prep"
)

// planCommand groups what is done with plans.
type planCommand struct {
	Import  planImport  `cmd:"" help:"Release a plan from a CSV or XLSX file with the headings carton, item, q, owner."`
	Show    planShow    `cmd:"" help:"A plan at a revision, and the changes that wait for an answer."`
	Diff    planDiff    `cmd:"" help:"Two revisions of a plan, line by line."`
	Propose planPropose `cmd:"" help:"Ask for changes of a plan in force; nothing moves until all who must have agreed."`
	Approve planApprove `cmd:"" help:"Say yes to a proposal, for the owners this badge may speak for."`
	Decline planDecline `cmd:"" help:"Say no to a proposal."`
}

type planImport struct {
	File  string `arg:"" help:"The file; - is standard input."`
	Plan  string `required:"" placeholder:"PLAN" help:"The plan's number, such as P-1."`
	To    string `placeholder:"NAME" help:"The destination, as the policy names it (default: dest-default)."`
	Owner string `placeholder:"OWNER" help:"Whose goods a line is about when the file does not say."`
	Check bool   `help:"Only read the file."`
	byline
}

func (c *planImport) Run(d *desk) error {
	src, err := d.readFile(c.File)
	if err != nil {
		return err
	}
	table, err := sheet.Read(c.File, src)
	if err != nil {
		return err
	}
	lines, err := sheet.PlanLines(table, c.Owner)
	for _, w := range warnings(table) {
		d.warn("%s", w)
	}
	if err != nil {
		return err
	}
	units, cartons := 0, map[string]bool{}
	for _, l := range lines {
		units += l.Q
		cartons[l.Carton] = true
	}
	about := fmt.Sprintf("Plan %s: %d lines, %d units in %d cartons", c.Plan, len(lines), units, len(cartons))
	if c.Check {
		return d.show(map[string]any{"plan": c.Plan, "lines": lines, "units": units, "cartons": len(cartons)}, func(w io.Writer) { fmt.Fprintln(w, about) })
	}
	return d.giveOne(c.byline, "release", map[string]any{"plan": c.Plan, "destination_policy": c.To, "lines": lines}, about)
}

type planPropose struct {
	Plan     string   `arg:"" help:"The plan's number."`
	Change   []string `required:"" sep:"none" placeholder:"\"CARTON ITEM DELTA [OWNER]\"" help:"One change, such as \"C-08 PUZ -1\"; give it once for each."`
	Reason   string   `required:"" help:"Why."`
	Mismatch string   `placeholder:"X-NN" help:"The mismatch that this would settle."`
	byline
}

func (c *planPropose) Run(d *desk) error {
	changes := make([]events.PlanChange, len(c.Change))
	for i, text := range c.Change {
		var err error
		if changes[i], err = parseChange(text); err != nil {
			return err
		}
	}
	return d.giveNext(c.byline, "propose", map[string]any{"plan": c.Plan, "changes": changes, "reason": c.Reason}, c.Mismatch)
}

// parseChange reads CARTON ITEM DELTA [OWNER].
func parseChange(text string) (events.PlanChange, error) {
	w := strings.Fields(text)
	if len(w) == 3 || len(w) == 4 {
		if delta, err := strconv.Atoi(w[2]); err == nil && delta != 0 {
			c := events.PlanChange{Carton: w[0], Item: w[1], Delta: delta}
			if len(w) == 4 {
				c.Owner = w[3]
			}
			return c, nil
		}
	}
	return events.PlanChange{}, prep.Input(fmt.Sprintf("%q is no change of a plan", text), `write carton, item and how many more or fewer, as in "C-08 PUZ -1"`)
}

type planApprove struct {
	Proposal string `arg:"" help:"The proposal's number."`
	Owner    string `placeholder:"OWNER" help:"Only for this owner's lines."`
	byline
}

func (c *planApprove) Run(d *desk) error {
	return d.giveNext(c.byline, "approve", map[string]any{"proposal": c.Proposal, "owner": c.Owner}, "")
}

type planDecline struct {
	Proposal string `arg:"" help:"The proposal's number."`
	Owner    string `placeholder:"OWNER" help:"Only for this owner's lines."`
	Reason   string `help:"Why."`
	byline
}

func (c *planDecline) Run(d *desk) error {
	return d.giveNext(c.byline, "decline", map[string]any{"proposal": c.Proposal, "owner": c.Owner, "reason": c.Reason}, "")
}
