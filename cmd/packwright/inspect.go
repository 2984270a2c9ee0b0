package main

import (
	"errors"
	"fmt"
	"io"

	"packwright/prep"
)

// inspectCommand says how many pieces of a lot to look at.
type inspectCommand struct {
	N     int     `placeholder:"N" help:"Pieces of one lot, for the exact plan: none of the sample may be bad."`
	Bad   int     `placeholder:"N" help:"So many bad pieces or more are to be ruled out."`
	Conf  float64 `default:"0.95" placeholder:"P" help:"With this confidence (${default})."`
	Lot   int     `placeholder:"N" help:"Pieces of a lot of a maker's stream, for the plan by tables."`
	Level string  `enum:"S-1,S-2,S-3,S-4,I,II,III" default:"II" help:"Inspection level: S-1 to S-4, I, II, III (${default})."`
	AQL   float64 `name:"aql" placeholder:"PERCENT" help:"Acceptable quality level, percent bad: 1.5."`

	Defects bool `help:"The words for what is wrong with a label or a closure, and how much each weighs."`
}

// Help shows how it is used.
func (*inspectCommand) Help() string {
	return `Examples:
  packwright inspect-plan --n 40 --bad 4 --conf .95
  packwright inspect-plan --lot 1000 --level II --aql 1.5
  packwright inspect-plan --defects

The first answers "is this one lot good enough": exact, by the hypergeometric distribution. The second is the normal single plan of MIL-STD-105E, made for a stream of lots of one maker. Not here: switching to tightened or reduced inspection, double and multiple plans. Both together are shown side by side.`
}

// inspected is one plan or both.
type inspected struct {
	Exact     *prep.ZeroBadPlan `json:"exact,omitempty"`
	Says      string            `json:"says,omitempty"`
	Table     *prep.LotPlan     `json:"table,omitempty"`
	Operating []prep.Operating  `json:"operating,omitempty"`
	Defects   []prep.Defect     `json:"defects,omitempty"`
}

func (c *inspectCommand) Run(d *desk) error {
	var out inspected
	if c.Defects {
		out.Defects = prep.Defects
	}
	if c.N == 0 && c.Lot == 0 && !c.Defects {
		return prep.Input("no lot is told", "give --n and --bad, or --lot and --aql, or all of them")
	}
	if (c.N == 0) != (c.Bad == 0) || (c.Lot == 0) != (c.AQL == 0) {
		return errors.Join(prep.Input("half a question", "--n goes with --bad, --lot with --aql"))
	}
	if c.N != 0 {
		p, err := prep.ZeroBad(c.N, c.Bad, prep.FixedOf(c.Conf))
		if err != nil {
			return err
		}
		out.Exact, out.Says = &p, p.Statement()
	}
	if c.Lot != 0 {
		p, err := prep.NormalPlan(c.Lot, prep.InspectionLevel(c.Level), prep.FixedOf(c.AQL))
		if err != nil {
			return err
		}
		out.Table, out.Operating = &p, prep.OperatingPoints(p.Sample, p.Accept)
	}
	return d.say(out)
}

// Text writes the plans for people.
func (p inspected) Text(w io.Writer) error {
	if e := p.Exact; e != nil {
		fmt.Fprintf(w, "look at %d of %d\n%s\n", e.Sample, e.Lot, p.Says)
	}
	if t := p.Table; t != nil {
		fmt.Fprintf(w, "MIL-STD-105E, normal, single, level %s, AQL %s %%: letter %s, look at %d of %d, accept with %d bad, reject with %d\n",
			t.Level, t.AQL, t.Letter, t.Sample, t.Lot, t.Accept, t.Reject)
		if t.Whole {
			fmt.Fprintln(w, "the table's sample is the lot or more: look at all of it")
		}
		for _, o := range p.Operating {
			fmt.Fprintf(w, "  a lot with %.2f %% bad is accepted %.0f times of 100\n", o.Percent.Float(), 100*o.Accept.Float())
		}
		fmt.Fprintln(w, "It protects a stream of lots; of this one lot alone it says little. Not here: tightened, reduced, double, multiple plans.")
	}
	for _, d := range p.Defects {
		fmt.Fprintf(w, "%-12s %-6s %s (%s)\n", d.ID, d.Class, d.Words, d.Cite)
	}
	return nil
}
