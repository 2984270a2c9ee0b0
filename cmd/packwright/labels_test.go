package main

import (
	"testing"

	"packwright/cmd/packwright/printing"
	"packwright/prep/label"
	"packwright/prep/label/labeltest"
	"packwright/workflow"
)

// TestCardsAreRead: real readers find on every card of a bench, at 203 and 300
// dots an inch, fat and thin, the code that the bench understands; and on a sheet
// of paper all of its cards.
func TestCardsAreRead(t *testing.T) {
	labeltest.Tools(t)
	cards, err := printing.Cards(12)
	if err != nil {
		t.Fatal(err)
	}
	codes := workflow.Sheet(12)
	if len(cards) != len(codes) || len(cards) < 40 {
		t.Fatalf("%d cards of %d codes", len(cards), len(codes))
	}
	var all []labeltest.Page
	for i, card := range cards {
		if testing.Short() && i%8 != 0 {
			continue
		}
		for _, dpi := range []int{203, 300} {
			pages, err := card.Pages(dpi)
			if err != nil {
				t.Fatalf("%s at %d dpi: %v", codes[i], dpi, err)
			}
			b, err := label.PNG(pages[0])
			if err != nil {
				t.Fatal(err)
			}
			all = append(all, labeltest.Page{Name: pages[0].Title, DPI: dpi, Number: i, PNG: b, Want: []string{"CODE-128:" + codes[i]}})
		}
	}
	labeltest.Read(t, append(all, cardSheet(t, cards[:8], codes[:8])))
}

func cardSheet(t *testing.T, cards []label.Label, codes []string) labeltest.Page {
	t.Helper()
	const dpi = 300
	out := labelOut{DPI: dpi}
	pages, err := out.layouts(cards)
	if err != nil {
		t.Fatal(err)
	}
	sheets, err := label.Sheets(pages, label.A4, nil)
	if err != nil || len(sheets) != 1 {
		t.Fatalf("%d sheets, %v", len(sheets), err)
	}
	p := labeltest.Page{Name: "sheet", DPI: dpi, Number: 1}
	for _, code := range codes {
		p.Want = append(p.Want, "CODE-128:"+code)
	}
	if p.PNG, err = label.PNG(sheets[0]); err == nil {
		p.PDF, err = label.PDF(sheets)
	}
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// TestOwnLabelsAreUnderstood: what is printed for a place of the floor is read
// by a bench as that place.
func TestOwnLabelsAreUnderstood(t *testing.T) {
	for code, class := range map[string]workflow.Class{"T-05": workflow.ScanTote, "C-1407": workflow.ScanCarton, "ST-2": workflow.ScanStation,
		"A-ST-2": workflow.ScanAside, "L-11": workflow.ScanLot, "R-07": workflow.ScanRun, "LD-1": workflow.ScanLoad, "B-ife": workflow.ScanBadge} {
		pages, err := label.Own{Name: code, Code: workflow.Signed(code), Word: "x"}.Pages(203)
		if err != nil {
			t.Fatal(err)
		}
		if s, err := workflow.ParseScan(pages[0].Says()[0], nil); err != nil || s.Class != class || !s.Signed {
			t.Errorf("%s is read as %+v, %v", code, s, err)
		}
	}
}
