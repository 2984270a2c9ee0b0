package main

import (
	"fmt"
	"io"
	"strings"

	"packwright/prep"
)

// fitCommand holds an item against every box or bag of a catalogue.
type fitCommand struct {
	Item    string `required:"" placeholder:"DIMS" help:"The item's three sides: 6.25x4.5x3.5in."`
	Wrap    string `placeholder:"WRAP" help:"One layer of wrap: its thickness, 3/16in, or a material of the catalogue, bubble-small, whose price is then counted."`
	Layers  []int  `default:"1" placeholder:"N" help:"How many layers; several numbers are held side by side (${default})."`
	Padding string `placeholder:"LENGTH" help:"Room to keep free on every side besides."`
	Bag     bool   `help:"Bags instead of boxes."`
	rulesFlag
}

// Help shows how it is used.
func (*fitCommand) Help() string {
	return `Examples:
  packwright fit --item 6.25x4.5x3.5in --wrap 3/16in --layers 1,2
  packwright fit --item 11x7x4.5in --bag --rules my-rules.yaml

Boxes: every way to turn the item is tried. A clearance below -3 mm crushes, up to 0 is pressed, up to 12 mm is snug; what is looser is filled.
Bags: width (with the gusset) at least across + thick + 1/2 in, length along + thick + 1 1/2 in; one that just fits is held by tape as well.
The first line is the choice, the second the runner-up. Prices are minor units of the catalogue.`
}

// rulesFlag says whose catalogue is meant.
type rulesFlag struct {
	Rules string `placeholder:"FILE" help:"The catalogue of this rulebook instead of the shipped one."`
}

func (r rulesFlag) book(d *desk) (*prep.Rulebook, error) {
	if r.Rules == "" {
		return prep.DefaultRulebook(), nil
	}
	src, err := d.readFile(r.Rules)
	if err != nil {
		return nil, err
	}
	return prep.ParseRulebook(r.Rules, src)
}

// fitted is the answer: one entry for each number of layers.
type fitted struct {
	Item   prep.Dims   `json:"item_mm"`
	Layers []layered   `json:"layers"`
	Wrap   prep.Length `json:"wrap_mm"` // one layer
}

// layered is every enclosure for an item in so many layers, best first.
type layered struct {
	Layers int           `json:"layers"`
	Need   prep.Dims     `json:"need_mm"`
	Wrap   prep.Money    `json:"wrap_minor,omitempty"` // price of the wrap, when it is a material
	Boxes  []prep.BoxFit `json:"boxes,omitempty"`
	Bags   []prep.BagFit `json:"bags,omitempty"`
}

func (c *fitCommand) Run(d *desk) error {
	item, err := prep.ParseDims(c.Item)
	if err != nil {
		return err
	}
	book, err := c.book(d)
	if err != nil {
		return err
	}
	thick, price, err := c.wrap(book.Materials)
	if err != nil {
		return err
	}
	padding, err := lengthOr(c.Padding, 0)
	if err != nil {
		return err
	}
	out := fitted{Item: item, Wrap: thick}
	for _, n := range c.Layers {
		if n < 0 || n > 20 {
			return prep.Input(fmt.Sprintf("%d layers", n), "give a number from 0 to 20")
		}
		l := layered{Layers: n, Need: prep.Wrapped(prep.Wrapped(item, thick, n), padding, 1), Wrap: price.Times(int64(n), 1)}
		if c.Bag {
			l.Bags = prep.FitBag(l.Need, book.Materials.Bags())
		} else {
			l.Boxes = prep.FitBox(l.Need, book.Materials.Boxes())
		}
		out.Layers = append(out.Layers, l)
	}
	return d.say(out)
}

// wrap reads a thickness, or finds a wrap of the catalogue with its price.
func (c *fitCommand) wrap(cat prep.Catalogue) (prep.Length, prep.Money, error) {
	if c.Wrap == "" {
		return 0, 0, nil
	}
	if m, ok := cat.Find(c.Wrap); ok {
		if m.Kind != prep.KindWrap {
			return 0, 0, prep.Input(c.Wrap+" is a "+m.Kind, "name a wrap, or its thickness")
		}
		return m.Thickness, m.Price, nil
	}
	thick, err := prep.ParseLength(c.Wrap)
	return thick, 0, err
}

// lengthOr reads a length; nothing said is the other.
func lengthOr(s string, other prep.Length) (prep.Length, error) {
	if s == "" {
		return other, nil
	}
	return prep.ParseLength(s)
}

// Text writes the comparison for people, in inches.
func (f fitted) Text(w io.Writer) error {
	for _, l := range f.Layers {
		fmt.Fprintf(w, "layers %d: needs %s\n", l.Layers, inches(l.Need))
		for i, b := range l.Boxes {
			fmt.Fprintf(w, "  %s\t%s\t%s\tclearance %s\t%s\t%s%s\n", rank(i, b.Usable()), b.Box.ID, b.Verdict, inches(b.Clearance), filling(b), b.Box.Price+l.Wrap, minorWith(l.Wrap))
		}
		for i, b := range l.Bags {
			fmt.Fprintf(w, "  %s\t%s\t%s\tneeds %s × %s\tspare %s × %s\t%s%s\n", rank(i, b.Usable()), b.Bag.ID, b.Verdict,
				b.NeedWidth.InchString(), b.NeedLength.InchString(), b.SpareWidth.InchString(), b.SpareLength.InchString(), b.Bag.Price+l.Wrap, minorWith(l.Wrap))
		}
	}
	return nil
}

func rank(i int, usable bool) string {
	switch {
	case !usable:
		return "no"
	case i == 0:
		return "choice"
	case i == 1:
		return "runner-up"
	}
	return "also"
}

func filling(b prep.BoxFit) string {
	if b.FillSides == 0 {
		return "nothing to fill"
	}
	return fmt.Sprintf("void %d cm³, fill %d sides", int64(b.Void)/1000, b.FillSides)
}

func minorWith(wrap prep.Money) string {
	if wrap == 0 {
		return " minor units"
	}
	return " minor units with wrap"
}

func inches(d prep.Dims) string {
	var s []string
	for _, x := range d {
		s = append(s, x.InchString())
	}
	return strings.Join(s, " × ")
}
