package audit

import (
	"fmt"
	"io"
	"strings"

	"packwright/prep"
)

// Text writes the backtest for the owner.
func (b Backtest) Text(w io.Writer) error {
	o := &strings.Builder{}
	fmt.Fprintf(o, "rulebook %d over the log: %d units were made ready, %d of them would get another recipe\n", b.Rev, b.Units, b.Changed)
	if b.Unknown > 0 {
		fmt.Fprintf(o, "of %d units the log no longer tells the item or the rulebook\n", b.Unknown)
	}
	for _, x := range b.Items {
		fmt.Fprintf(o, "%s, %d units by r%d", x.Item, x.Units, x.Rev)
		if x.Verdict == prep.VerdictPrep {
			fmt.Fprintf(o, ": materials %s, then %s minor units each%s\n", x.FromCost, x.ToCost, x.labour())
		} else {
			fmt.Fprintf(o, ": %s\n", x.Verdict)
		}
		for _, l := range x.Lines {
			fmt.Fprintf(o, "  %s\n", l)
		}
	}
	if b.Stopped > 0 {
		fmt.Fprintf(o, "held or diverted: %d units\n", b.Stopped)
	}
	if b.Changed > b.Stopped {
		fmt.Fprintf(o, "materials: %s minor units more in all\n", b.Materials)
		switch {
		case b.Timed == 0:
			o.WriteString("labour: not known; no run was ever worked by the new recipes\n")
		case b.PerHour == 0:
			fmt.Fprintf(o, "labour: known for %d units, not priced; give an hour's price\n", b.Timed)
		default:
			fmt.Fprintf(o, "labour: %s minor units more, known for %d of %d units\n", b.Labour, b.Timed, b.Changed-b.Stopped)
		}
	}
	fmt.Fprintf(o, "complained of: %d units inside the changed set, %d outside, %d unsure\n", b.Complained["inside"], b.Complained["outside"], b.Complained["unsure"])
	for _, c := range b.Complaints {
		fmt.Fprintf(o, "  %s, %s, %d: %s\n", c.Claim, c.Kind, c.Qty, c.Is)
	}
	o.WriteString("It says which units would be treated otherwise, not that any complaint would be spared.\n")
	_, err := io.WriteString(w, o.String())
	return err
}

func (x BacktestItem) labour() string {
	switch {
	case x.From == nil:
		return ""
	case x.To == nil:
		return fmt.Sprintf("; %d s each, the new one was never worked", x.From.Seconds)
	}
	return fmt.Sprintf("; %d s, then %d s each", x.From.Seconds, x.To.Seconds)
}
