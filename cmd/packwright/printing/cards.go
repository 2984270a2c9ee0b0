package printing

import (
	"fmt"

	"packwright/prep"
	"packwright/prep/label"
	"packwright/workflow"
)

// Cards lists the cards in the order of workflow's sheet, with numbers up
// to most.
func Cards(most int) (cards []label.Label, err error) {
	if most < 1 || most > 999 {
		return nil, prep.Input(fmt.Sprintf("number cards up to %d", most), "choose from 1 (none) to 999")
	}
	says := map[string]string{}
	for _, c := range workflow.Cards {
		says[c.Word] = c.Says
	}
	for _, code := range workflow.Sheet(most) {
		s, err := workflow.ParseScan(code, nil)
		if err != nil {
			return nil, err
		}
		switch s.Class {
		case workflow.ScanCard:
			cards = append(cards, label.Card{Word: s.Code, Says: says[s.Code], Code: code})
		case workflow.ScanDigit:
			cards = append(cards, label.Number{Figure: s.Code, Says: "digit", Code: code})
		case workflow.ScanNumber:
			cards = append(cards, label.Number{Figure: s.Code, Says: "pieces", Code: code})
		case workflow.ScanTest:
			cards = append(cards, label.Test{Code: code})
		default:
			return nil, fmt.Errorf("no card is made for %s, a %s", code, s.Class)
		}
	}
	return cards, nil
}
