package main

import (
	"fmt"
	"io"

	"packwright/cmd/packwright/printing"
	"packwright/prep/label"
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
	cards, err := printing.Cards(c.Numbers)
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
