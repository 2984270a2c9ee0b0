package main

import (
	"fmt"
	"io"

	"packwright/prep"
)

// warnCommand says whether a bag gets a suffocation warning, and by whose measure.
type warnCommand struct {
	Bag     string `arg:"" help:"A bag of the catalogue, bag-14x20, or its width and length, 14x20in."`
	Film    string `placeholder:"LENGTH" help:"The film's thickness, for a bag told by its sides: 1.5mil. Not told counts as thin."`
	Gusset  string `placeholder:"LENGTH" help:"The gusset, opened out."`
	Printed bool   `help:"It carries the warning already."`
	rulesFlag
}

// Help shows how it is used.
func (*warnCommand) Help() string {
	return `Examples:
  packwright warn 14x20in --film 1.5mil
  packwright warn bag-6x9

The table's own statutes are named with each answer, and the day it was last held against them. Check your local code: other places ask for other sizes and words.`
}

// warned is what the table says, with the words for a label.
type warned struct {
	prep.BagWarning
	Words    string `json:"words"`
	WordsOf  string `json:"words_cite"`
	SizeCite string `json:"size_cite"`
}

func (c *warnCommand) Run(d *desk) error {
	bag, err := c.bag(d)
	if err != nil {
		return err
	}
	p := prep.DefaultWarningPolicy
	return d.say(warned{p.ForBag(bag), p.Text, p.TextCite, p.SizeCite})
}

func (c *warnCommand) bag(d *desk) (prep.Bag, error) {
	book, err := c.book(d)
	if err != nil {
		return prep.Bag{}, err
	}
	if m, ok := book.Materials.Find(c.Bag); ok {
		if m.Kind != prep.KindBag {
			return prep.Bag{}, prep.Input(c.Bag+" is a "+m.Kind, "name a bag, or its width and length")
		}
		return m.Bag(), nil
	}
	b := prep.Bag{ID: c.Bag, PrintedWarning: c.Printed}
	if b.Width, b.Length, err = twoSides(c.Bag); err != nil {
		return b, err
	}
	if b.Gusset, err = lengthOr(c.Gusset, 0); err != nil {
		return b, err
	}
	b.Film, err = lengthOr(c.Film, 0)
	return b, err
}

// twoSides reads 14x20in.
func twoSides(s string) (a, b prep.Length, err error) {
	d, err := prep.ParseDims("1x" + s)
	if err != nil {
		return 0, 0, prep.Input(fmt.Sprintf("%q is not two sides, and not in the catalogue", s), "write them like 14x20in")
	}
	return d[1], d[2], nil
}

// Text writes it for people.
func (w warned) Text(out io.Writer) error {
	switch {
	case w.NeedsLabel():
		fmt.Fprintf(out, "%s: a suffocation warning is asked for\n", w.Bag)
	case w.Ask:
		fmt.Fprintf(out, "%s: a suffocation warning is asked for, and printed on it\n", w.Bag)
	default:
		fmt.Fprintf(out, "%s: no measure of the table asks for a warning\n", w.Bag)
	}
	for _, b := range w.Because {
		fmt.Fprintf(out, "  %s\n", b)
	}
	fmt.Fprintf(out, "length + width %s: type of %d points or more (%s)\n", w.Total.InchString(), w.Type, w.SizeCite)
	fmt.Fprintf(out, "%s (%s)\n", w.Words, w.WordsOf)
	fmt.Fprintf(out, "Table as of %s. %s\n", w.PolicyAsOf, w.LocalCode)
	return nil
}
