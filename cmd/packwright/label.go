package main

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"packwright/cmd/packwright/printing"
	"packwright/prep"
	"packwright/prep/label"
	"packwright/workflow"
)

// labelCommand paints labels. It keeps nothing: that labels were printed, torn
// or printed again is told to the floor, which alone gives out marks.
type labelCommand struct {
	Item       labelItem       `cmd:"" help:"What an item is: 2¼ × 1¼ in, over the retail barcode."`
	KeepSealed labelKeepSealed `cmd:"" help:"Our own label on a pack that stays closed; carries the marks."`
	Set        labelSet        `cmd:"" help:"Sold as one: the label of a set."`
	Warning    labelWarning    `cmd:"" help:"The suffocation warning for a bag, in the size of type that its sides ask for."`
	Carton     labelCarton     `cmd:"" help:"4 × 6 in, the carton's number lowest, its name largest."`
	TeamLift   labelTeamLift   `cmd:"" help:"The caution on a heavy carton."`
	Contents   labelContents   `cmd:"" help:"What a counted carton holds, from the floor."`
	Tote       labelTote       `cmd:"" help:"Totes, by their names."`
	Place      labelPlace      `cmd:"" help:"Any other code of the floor's own: benches, aside totes, cartons, lots, runs, loads."`
	Badge      labelBadge      `cmd:"" help:"Badges, on cards."`
	Test       labelTest       `cmd:"" help:"Shows whether a printer has the dots it is taken to have."`
}

type labelItem struct {
	Code   string   `arg:"" help:"The item's number (8, 12, 13 or 14 digits), or another code; with --ask the short code of the floor's catalogue."`
	Name   string   `help:"What people call it, short."`
	Note   string   `help:"A second line."`
	Mark   []string `placeholder:"M-0019" help:"A label for each of these marks: M-0019, or M-0015..M-0023."`
	MarkAs string   `enum:"square,text" default:"square" help:"The mark as a square code in the corner, or as text only, so that no second code can be scanned (${default})."`
	Ask    bool     `help:"Take number and name from the floor's catalogue."`
	labelOut
}

func (c *labelItem) Run(d *desk) error {
	x := label.Item{Code: c.Code, Name: c.Name, Note: c.Note}
	if c.Ask {
		it, err := d.itemsOf(c.Code)
		if err != nil {
			return err
		}
		if len(it[0].Codes) > 0 {
			x.Code = string(it[0].Codes[0])
		}
		if c.Name == "" {
			x.Name = it[0].Name
		}
	}
	if x.Name == "" {
		return prep.Input("an item label without a name", "give --name, or --ask for the floor's own")
	}
	if strings.Trim(x.Code, "0123456789") == "" {
		x.GTIN, x.Code = prep.GTIN(x.Code), ""
	}
	marks, err := marksOf(c.Mark)
	if err != nil {
		return err
	}
	if len(marks) == 0 {
		return c.paint(d, x)
	}
	var all []label.Label
	for _, m := range marks {
		x.Mark, x.MarkAs = m, label.MarkAs(c.MarkAs)
		all = append(all, x)
	}
	return c.paint(d, all...)
}

// marksOf reads marks and ranges of marks.
func marksOf(words []string) (prep.Marks, error) {
	var all prep.Marks
	for _, w := range words {
		b, err := json.Marshal([]string{w})
		if err != nil {
			return nil, err
		}
		var some prep.Marks
		if !strings.Contains(w, "..") {
			m, err := prep.ParseMark(w)
			if err != nil {
				return nil, err
			}
			some = prep.NewMarks(m)
		} else if err := some.UnmarshalJSON(b); err != nil {
			return nil, prep.Input(w+" is no range of marks", "write it like M-0015..M-0023")
		}
		all = all.Union(some)
	}
	return all, nil
}

// sealedWords are what keep-sealed and sold-as-one labels have alike.
type sealedWords struct {
	Marks []string `arg:"" optional:"" help:"A label for each mark: M-0019, or M-0015..M-0023. None: one label without."`
	Name  string   `help:"What people call the item, short."`
	Of    string   `name:"run" placeholder:"R-NN" help:"The run."`
	QR    bool     `name:"qr" help:"A QR code instead of a Data Matrix."`
	labelOut
}

// each makes a label for each mark, or one without.
func (c *sealedWords) each(d *desk, make func(prep.Mark) label.Label) error {
	marks, err := marksOf(c.Marks)
	if err != nil {
		return err
	}
	if len(marks) == 0 {
		marks = prep.Marks{0}
	}
	var all []label.Label
	for _, m := range marks {
		all = append(all, make(m))
	}
	return c.paint(d, all...)
}

type labelKeepSealed struct{ sealedWords }

func (c *labelKeepSealed) Run(d *desk) error {
	return c.each(d, func(m prep.Mark) label.Label {
		return label.KeepSealed{Mark: m, Name: c.Name, Run: c.Of, QR: c.QR}
	})
}

type labelSet struct {
	Pieces int `help:"How many pieces are sold as one."`
	sealedWords
}

func (c *labelSet) Run(d *desk) error {
	return c.each(d, func(m prep.Mark) label.Label {
		return label.SoldAsOne{Pieces: c.Pieces, Mark: m, Name: c.Name, Run: c.Of, QR: c.QR}
	})
}

type labelWarning struct {
	Width  string `required:"" placeholder:"LENGTH" help:"The bag's opening, laid flat: 12 in."`
	Length string `required:"" placeholder:"LENGTH" help:"Its length."`
	Gusset string `placeholder:"LENGTH" help:"Its gusset, opened out."`
	Film   string `placeholder:"LENGTH" help:"The thickness of its film: 1.5 mil. Not given counts as thin."`
	labelOut
}

func (c *labelWarning) Run(d *desk) error {
	bag := prep.Bag{ID: "bag"}
	for _, x := range []struct {
		text string
		to   *prep.Length
	}{{c.Width, &bag.Width}, {c.Length, &bag.Length}, {c.Gusset, &bag.Gusset}, {c.Film, &bag.Film}} {
		if x.text == "" {
			continue
		}
		l, err := prep.ParseLength(x.text)
		if err != nil {
			return err
		}
		*x.to = l
	}
	policy := prep.DefaultWarningPolicy
	asked := policy.ForBag(bag)
	return c.paintSaying(d, func(w io.Writer) {
		if !asked.Ask {
			fmt.Fprintln(w, "No measure of this bag asks for a warning.")
		}
		for _, because := range asked.Because {
			fmt.Fprintln(w, because)
		}
		fmt.Fprintf(w, "Length and width are %s together: %d pt or larger (%s).\n", asked.Total.InchString(), asked.Type, policy.SizeCite)
		fmt.Fprintf(w, "The words are those of %s; table of %s.\n%s\n", policy.TextCite, policy.AsOf, asked.LocalCode)
	}, label.Warning{Bag: bag, Policy: policy})
}

type labelTote struct {
	Names  []string `arg:"" help:"T-05, and so on."`
	Note   string   `help:"A line beneath."`
	Stock  string   `enum:"small,wide" default:"wide" help:"small is 2¼ × 1¼ in, wide 4 × 2 in (${default})."`
	Square bool     `help:"A square code instead of bars."`
	labelOut
}

func (c *labelTote) Run(d *desk) error {
	return c.paintOwn(d, c.Names, label.Own{Note: c.Note, Stock: stocks[c.Stock], Square: c.Square}, workflow.ScanTote)
}

type labelPlace struct {
	Names  []string `arg:"" help:"ST-2, A-ST-2, C-07, L-11, R-07, LD-1, and so on."`
	Note   string   `help:"A line beneath."`
	Stock  string   `enum:"small,wide" default:"wide" help:"small is 2¼ × 1¼ in, wide 4 × 2 in (${default})."`
	Square bool     `help:"A square code instead of bars."`
	labelOut
}

func (c *labelPlace) Run(d *desk) error {
	return c.paintOwn(d, c.Names, label.Own{Note: c.Note, Stock: stocks[c.Stock], Square: c.Square}, printing.Places...)
}

type labelBadge struct {
	Names  []string `arg:"" help:"The badges, as they were enrolled."`
	Note   string   `help:"A line beneath: packer, supervisor."`
	Square bool     `help:"A square code instead of bars, for a long badge."`
	labelOut
}

func (c *labelBadge) Run(d *desk) error {
	var codes []string
	for _, name := range c.Names {
		codes = append(codes, "B-"+strings.TrimPrefix(name, "B-"))
	}
	return c.paintOwn(d, codes, label.Own{Note: c.Note, Stock: label.BadgeStock, Square: c.Square}, workflow.ScanBadge)
}

var stocks = map[string]label.Stock{"small": label.Small, "wide": label.Wide}

// paintOwn paints labels with codes of the floor's own.
func (o *labelOut) paintOwn(d *desk, codes []string, like label.Own, classes ...workflow.Class) error {
	all, err := printing.Own(codes, like, classes...)
	if err != nil {
		return err
	}
	return o.paint(d, all...)
}

type labelTest struct{ labelOut }

func (c *labelTest) Run(d *desk) error { return c.paint(d, label.Printer{}) }
