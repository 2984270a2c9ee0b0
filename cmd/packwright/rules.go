package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"packwright/prep"
	"packwright/workflow"
)

// rulesCommand groups what is done with the rulebook.
type rulesCommand struct {
	Check    rulesCheck    `cmd:"" help:"Prove that a rulebook gives every kind of goods exactly one recipe, or a stop."`
	Explain  rulesExplain  `cmd:"" help:"What an item gets, and why."`
	Diff     rulesDiff     `cmd:"" help:"Items whose recipe changes between two rulebooks."`
	Backtest rulesBacktest `cmd:"" help:"Run another rulebook over the log's past units."`
	Publish  rulesPublish  `cmd:"" help:"Put a rulebook in force."`
}

type rulesCheck struct {
	File string `arg:"" help:"The rulebook, YAML."`
}

func (c *rulesCheck) Run(d *desk) error {
	book, err := provedBook(d, c.File)
	if err != nil {
		return err
	}
	return d.show(map[string]any{"rev": book.Rev, "digest": book.Digest(), "rules": len(book.Rules), "steps": len(book.Steps)}, func(w io.Writer) {
		fmt.Fprintf(w, "Rulebook %d holds: %d rules, %d steps, digest %.12s.\n", book.Rev, len(book.Rules), len(book.Steps), book.Digest())
		fmt.Fprintln(w, "Every combination of answers gives one recipe, or a stop.")
	})
}

// provedBook reads a rulebook and refuses it for what its rules leave open.
func provedBook(d *desk, name string) (*prep.Rulebook, error) {
	src, err := d.readFile(name)
	if err != nil {
		return nil, err
	}
	book, err := prep.ParseRulebook(name, src)
	if err != nil {
		return nil, err
	}
	return book, prep.Findings(book, prep.Check(book))
}

type rulesPublish struct {
	File      string `arg:"" help:"The rulebook, YAML."`
	Effective string `enum:"new-runs,at-once" default:"new-runs" help:"When it takes hold: new-runs lets open runs finish by the old one, at-once stops those whose recipe changes."`
	Note      string `help:"What changed, in a few words."`
	byline
}

func (c *rulesPublish) Run(d *desk) error {
	book, err := provedBook(d, c.File)
	if err != nil {
		return err
	}
	ask := map[string]any{"rev": book.Rev, "rulebook": book, "note": c.Note, "effective": c.Effective}
	return d.giveOne(c.byline, "publish-rulebook", ask, fmt.Sprintf("Rulebook %d", book.Rev))
}

type rulesExplain struct {
	Item  string `arg:"" help:"The item's short code."`
	Rules string `placeholder:"FILE" help:"By this rulebook instead of the floor's."`
	Items string `placeholder:"FILE" help:"From this list of items instead of the floor's catalogue."`
	Work  int    `placeholder:"S" help:"Seconds of work on one unit, to be priced with --rate."`
	Rate  string `placeholder:"MINOR" help:"The price of an hour's work in minor units: 1650."`
}

// explained is an explanation, with what one unit costs when work is priced too.
type explained struct {
	prep.Explanation
	Unit *prep.UnitCost `json:"unit_cost,omitempty"`
}

func (c *rulesExplain) Run(d *desk) error {
	rate, err := minor(c.Rate)
	if err != nil {
		return err
	}
	if c.Work < 0 || (c.Work == 0) != (c.Rate == "") {
		return prep.Input("--work and --rate go together", "give both, or neither")
	}
	e, err := c.explain(d)
	if err != nil {
		return err
	}
	out := explained{Explanation: e}
	if c.Work > 0 {
		out.Unit = &prep.UnitCost{Labour: prep.LabourCost(time.Duration(c.Work)*time.Second, rate), Materials: e.Cost}
	}
	return d.show(out, func(w io.Writer) {
		fmt.Fprint(w, e)
		if u := out.Unit; u != nil {
			fmt.Fprintf(w, "one unit: work of %d s %s, materials %s, together %s minor units\n", c.Work, u.Labour, u.Materials, u.Total())
		}
	})
}

func (c *rulesExplain) explain(d *desk) (prep.Explanation, error) {
	switch {
	case c.Rules != "" && c.Items != "":
		return c.fromFiles(d)
	case c.Rules != "" || c.Items != "":
		return prep.Explanation{}, prep.Input("--rules and --items go together", "give both files, or neither")
	case d.URL != "":
		var e prep.Explanation
		web, err := d.web()
		if err != nil {
			return e, err
		}
		err = web.Read(d.ctx, "/rules/explain/"+c.Item, &e)
		return e, err
	}
	h, err := d.open("packwright rules explain")
	if err != nil {
		return prep.Explanation{}, err
	}
	defer h.Close()
	return h.explain(d.ctx, c.Item)
}

func (c *rulesExplain) fromFiles(d *desk) (prep.Explanation, error) {
	src, err := d.readFile(c.Rules)
	if err != nil {
		return prep.Explanation{}, err
	}
	book, err := prep.ParseRulebook(c.Rules, src)
	if err != nil {
		return prep.Explanation{}, err
	}
	items, _, err := readItems(d, c.Items)
	if err != nil {
		return prep.Explanation{}, err
	}
	for _, it := range items {
		if it.Item.Item == c.Item {
			return prep.Explain(book, it.Item), nil
		}
	}
	return prep.Explanation{}, fmt.Errorf("%w: %s is not in %s", errNothing, c.Item, c.Items)
}

// explain says what an item of the catalogue gets by the rulebook in force.
func (h *hub) explain(ctx context.Context, item string) (e prep.Explanation, err error) {
	gone := h.writer.View(ctx, func(f *workflow.Floor) {
		switch it, book := f.Items[item], f.Books[f.RulesRev]; {
		case it == nil:
			err = fmt.Errorf("%w: item %s is not in the catalogue", errNothing, item)
		case book == nil:
			err = fmt.Errorf("%w: no rulebook is published", errNothing)
		default:
			e = prep.Explain(book, *it)
		}
	})
	return e, errors.Join(gone, err)
}
