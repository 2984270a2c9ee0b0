package main

import (
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"

	"packwright/prep"
)

// labelFitCommand says whether a symbol goes onto a label at a printer's dots.
type labelFitCommand struct {
	Symbol string `arg:"" help:"sscc, item-128, ean13, upca, ean8, or mark:N for a code of the floor's own of N signs."`
	Label  string `default:"2.25x1.25in" placeholder:"DIMS" help:"Width and height (${default})."`
	DPI    int    `name:"dpi" default:"203" help:"The printer's dots an inch (${default})."`
}

// Help shows how it is used.
func (*labelFitCommand) Help() string {
	return `Examples:
  packwright label-fit sscc --label 4x6in
  packwright label-fit mark:8 --dpi 300`
}

var symbols = map[string]prep.LabelSymbol{
	"sscc": prep.SSCCSymbol, "item-128": prep.GTIN128Symbol, "ean13": prep.EAN13Symbol, "upca": prep.UPCASymbol, "ean8": prep.EAN8Symbol,
}

// labelFits is the answer; one that does not fit ends with exit code 3.
type labelFits struct{ prep.LabelFit }

func (c *labelFitCommand) Run(d *desk) error {
	s, ok := symbols[c.Symbol]
	if !ok {
		var n int
		if k, err := fmt.Sscanf(c.Symbol, "mark:%d", &n); err != nil || k != 1 || n < 1 || n > 80 {
			return prep.Input(fmt.Sprintf("%q is no symbol", c.Symbol), "take "+strings.Join(slices.Sorted(maps.Keys(symbols)), ", ")+", or mark:8")
		}
		s = prep.Code128Symbol(n)
	}
	w, h, err := twoSides(c.Label)
	if err != nil {
		return err
	}
	f, err := prep.FitLabel(s, w, h, c.DPI)
	if err != nil {
		return err
	}
	if err := d.say(labelFits{f}); err != nil {
		return err
	}
	if !f.Fits {
		return errTold
	}
	return nil
}

// Text writes it for people.
func (f labelFits) Text(w io.Writer) error {
	word := "does not fit"
	if f.Fits {
		word = fmt.Sprintf("fits, narrow bar of %d dots (%s)", f.Dots, f.X)
	}
	_, err := fmt.Fprintf(w, "%s at %d dpi %s: %s\n", f.Symbol, f.DPI, word, f.Why)
	return err
}
