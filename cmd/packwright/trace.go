package main

import (
	"packwright/audit"
	"packwright/prep"
)

// traceCommand says which unit it was and what was done to it: always a set,
// its size, and why it cannot be smaller.
type traceCommand struct {
	Mark   string `arg:"" optional:"" name:"code" help:"The mark on the unit, M-0019; or any other code: item, tote, lot, run, carton and its 18 digits, seal, load, lot of material, mismatch, claim, serial number. Without one, say what is known:"`
	Item   string `placeholder:"ITEM" help:"Units of this item,"`
	Carton string `placeholder:"C-NN" help:"that left in this carton,"`
	Made   string `name:"run" placeholder:"R-NN" help:"made by this run,"`
	Lot    string `placeholder:"L-NN" help:"of this lot,"`
	Serial string `placeholder:"TEXT" help:"or with this serial number of the maker."`
	atFlag
}

var (
	traceQuestion = question[audit.Trace]{"/trace/{mark}", "the life of one marked unit, or the units that any other code can mean; ?at=", answerTrace}

	traceUnitsQuestion = question[audit.Trace]{"/trace", "the smallest set of units that fits; ?item= ?carton= ?run= ?lot= ?serial= ?at=", answerTraceUnits}
)

func answerTrace(v view, say asked) (audit.Trace, error) {
	return v.TraceCode(say["mark"])
}

func answerTraceUnits(v view, say asked) (audit.Trace, error) {
	of := audit.Ask{Item: say["item"], Lot: say["lot"], Run: say["run"], Carton: say["carton"], Serial: say["serial"]}
	if of == (audit.Ask{}) {
		return audit.Trace{}, prep.Input("nothing to trace by", "give a mark, or --item, --carton, --run, --lot, --serial")
	}
	return v.TraceUnits(of)
}

func (c *traceCommand) Run(d *desk) error {
	say := asked{"item": c.Item, "carton": c.Carton, "run": c.Made, "lot": c.Lot, "serial": c.Serial}
	for _, v := range say {
		if v != "" && c.Mark != "" {
			return prep.Input("a mark names one unit; nothing narrows it further", "give the mark alone, or leave it out")
		}
	}
	if say["at"] = c.At; c.Mark == "" {
		return tell(d, traceUnitsQuestion, say)
	}
	return tell(d, traceQuestion, asked{"mark": c.Mark, "at": c.At})
}
