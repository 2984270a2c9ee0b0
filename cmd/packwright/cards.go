package main

import (
	"fmt"
	"io"

	"packwright/prep"
	"packwright/prep/label"
	"packwright/workflow"
)

// cardsCommand paints the cards of a bench: one for each action, ten digits,
// numbers, and the test card.
type cardsCommand struct {
	Numbers  int    `default:"12" help:"Number cards from 2 to this (${default})."`
	Sheet    string `enum:"a4,letter," default:"" help:"Eight cards to a sheet of paper, to be cut: a4 or letter. Without it each card is a page of 4 × 2½ in."`
	Glossary bool   `help:"The twenty words a new hand needs on the back of each card: every second page, for printing on both sides."`
	labelOut
}

func (c *cardsCommand) Run(d *desk) error {
	if c.DPI == 0 && c.Sheet != "" {
		c.DPI = 600
	}
	cards, err := benchCards(c.Numbers)
	if err != nil {
		return err
	}
	pages, err := c.layouts(cards)
	if err != nil {
		return err
	}
	if c.Glossary || c.Sheet != "" {
		if pages, err = c.backed(pages); err != nil {
			return err
		}
	}
	return c.leave(d, pages, func(w io.Writer) {
		fmt.Fprintf(w, "%d cards. Print at true size, never \"fit to page\".\n", len(cards))
	})
}

// backed puts the backs behind the cards, and all on sheets when asked.
func (c *cardsCommand) backed(cards []label.Layout) ([]label.Layout, error) {
	back, err := label.Back{}.Pages(c.dots())
	if err != nil {
		return nil, err
	}
	if paper, ok := map[string]label.Stock{"a4": label.A4, "letter": label.Letter}[c.Sheet]; ok {
		if !c.Glossary {
			return label.Sheets(cards, paper, nil)
		}
		return label.Sheets(cards, paper, &back[0])
	}
	var out []label.Layout
	for _, card := range cards {
		behind := back[0]
		behind.Width, behind.Height = card.Width, card.Height
		out = append(out, card, behind)
	}
	return out, nil
}

// benchCards lists the cards in the order of workflow's sheet, with numbers up
// to most.
func benchCards(most int) (cards []label.Label, err error) {
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
