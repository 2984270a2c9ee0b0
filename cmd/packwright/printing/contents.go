package printing

import (
	"fmt"
	"strings"

	"packwright/audit"
	"packwright/prep"
	"packwright/prep/label"
	"packwright/workflow"
)

// Counted says whether a contents sheet may be printed: before the count is
// accepted it would tell the number to those who count.
func Counted(held audit.Contents) bool { return held.Cert != nil }

// Contents makes the sheet of a counted carton. Name gives what people call an
// item. It panics before the count is accepted.
func Contents(held audit.Contents, name func(item string) string) label.Contents {
	if !Counted(held) {
		panic("printing: contents of " + held.Carton + " before its count is accepted")
	}
	x := label.Contents{Carton: held.Carton, Code: workflow.Signed(held.Carton), Facts: sheetFacts(held)}
	for _, l := range held.Lines {
		if l.Scanned > 0 {
			x.Lines = append(x.Lines, label.ContentsLine{N: l.Scanned, Item: name(l.Item), Note: sheetNote(l)})
		}
	}
	return x
}

// Gross is what a carton weighed, or 0.
func Gross(held audit.Contents) prep.Mass {
	if held.Weight == nil {
		return 0
	}
	return held.Weight.Gross
}

// sheetFacts say how far the sheet can be believed.
func sheetFacts(held audit.Contents) string {
	var facts []string
	if held.Cert.By != "" {
		facts = append(facts, "counted by "+held.Cert.By+", "+held.Cert.At.Clock())
	} else {
		facts = append(facts, "count waived, "+held.Cert.At.Clock())
	}
	if g := Gross(held); g > 0 {
		facts = append(facts, g.String())
	}
	if held.Seal != "" {
		facts = append(facts, "seal "+held.Seal)
	}
	if held.Plan != "" {
		facts = append(facts, fmt.Sprintf("plan %s r%d", held.Plan, held.PlanRev))
	}
	return strings.Join(facts, "; ")
}

// sheetNote says whose the pieces of a line are and of which lots.
func sheetNote(l audit.ContentLine) string {
	words := []string{l.Item}
	if l.Owner != "" {
		words = append(words, l.Owner)
	}
	seen := map[string]bool{}
	for _, p := range l.Lots {
		if !seen[p.Lot] {
			words = append(words, p.Lot)
		}
		seen[p.Lot] = true
	}
	return strings.Join(words, "; ")
}
