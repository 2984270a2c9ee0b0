package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"packwright/cmd/packwright/sheet"
	"packwright/events"
	"packwright/prep"
	"packwright/workflow"
)

// itemsCommand groups what is done with the catalogue.
type itemsCommand struct {
	Import  itemsImport  `cmd:"" help:"Register the items of a CSV, XLSX or YAML file. A file with a mistake changes nothing; doing it twice changes nothing more."`
	Columns itemsColumns `cmd:"" help:"The headings that a table of items may have."`
}

type itemsImport struct {
	File  string `arg:"" help:"The file; - is standard input."`
	Check bool   `help:"Only read the file."`
	byline
}

// imported is what an import tells.
type imported struct {
	File    string    `json:"file"`
	Items   int       `json:"items"`
	Kept    int       `json:"kept"`
	Already int       `json:"already"`
	Refused []refused `json:"refused,omitempty"`
	Notes   []string  `json:"notes,omitempty"`
}

type refused struct {
	Line int    `json:"line,omitempty"`
	Item string `json:"item"`
	*workflow.Refusal
}

func (c *itemsImport) Run(d *desk) error {
	items, notes, err := readItems(d, c.File)
	if err != nil {
		return err
	}
	r := imported{File: c.File, Items: len(items), Notes: notes}
	for _, n := range notes {
		d.warn("%s", n)
	}
	if c.Check {
		return d.show(r, func(w io.Writer) { fmt.Fprintf(w, "%s: %d items can be read.\n", r.File, r.Items) })
	}
	t, err := d.tellAs(c.byline)
	if err != nil {
		return err
	}
	err = worse(r.register(t, items), t.close())
	if shown := d.show(r, r.say); shown != nil || err != nil {
		return worse(err, shown)
	}
	if len(r.Refused) > 0 {
		return errTold
	}
	return nil
}

// register gives a register-item for each item. The numbers are made from the
// file's items, so that doing it again goes on where it ended.
func (r *imported) register(t *teller, items []sheet.Listed) error {
	bodies := make([][]byte, len(items))
	for i := range items {
		var err error
		if bodies[i], err = json.Marshal(items[i].Item); err != nil {
			return err
		}
	}
	epoch := epochOf("items", []byte(t.by.Badge), bytes.Join(bodies, []byte{'\n'}))
	step, finish := t.d.progress(len(items), "items")
	defer finish()
	for i, it := range items {
		a := t.askAs(epoch, i+1, "register-item", json.RawMessage(bodies[i]), events.Import)
		switch {
		case a.Outcome == workflow.Already:
			r.Already++
		case a.Outcome == workflow.No && a.Error == nil:
			r.Refused = append(r.Refused, refused{it.Line, it.Item.Item, a.Refusal})
		case a.Err() != nil:
			return fmt.Errorf("item %s: %w", it.Item.Item, a.Err())
		default:
			r.Kept++
		}
		step()
	}
	return nil
}

func (r *imported) say(w io.Writer) {
	fmt.Fprintf(w, "%s: %d items, %d kept, %d already, %d refused.\n", r.File, r.Items, r.Kept, r.Already, len(r.Refused))
	for _, x := range r.Refused {
		fmt.Fprintf(w, "line %d\t%s\t%s\n", x.Line, x.Item, x.Refusal)
	}
}

// readItems reads a list of items; the end of the name says how. Notes are what
// was read and deserves a look.
func readItems(d *desk, name string) (items []sheet.Listed, notes []string, err error) {
	src, err := d.readFile(name)
	if err != nil {
		return nil, nil, err
	}
	switch strings.ToLower(filepath.Ext(name)) {
	case ".yaml", ".yml":
		list, err := prep.ParseItems(name, src)
		for _, it := range list {
			items = append(items, sheet.Listed{Item: it})
		}
		return items, nil, err
	}
	table, err := sheet.Read(name, src)
	if err != nil {
		return nil, nil, err
	}
	items, err = sheet.Items(table)
	return items, warnings(table), err
}

func warnings(t *sheet.Table) (out []string) {
	for _, w := range t.Warnings {
		out = append(out, w.Error())
	}
	return out
}

type itemsColumns struct{}

func (itemsColumns) Run(d *desk) error {
	type column struct {
		Name  string   `json:"name"`
		Also  []string `json:"also,omitempty"`
		About string   `json:"about"`
		Words []string `json:"words,omitempty"`
	}
	var list []column
	for _, c := range sheet.ItemColumns() {
		list = append(list, column{Name: c.Name, Also: c.Also, About: c.About})
	}
	for _, name := range prep.AttrNames() {
		list = append(list, column{Name: name, About: prep.AttrQuestion(name), Words: prep.AttrWords(name)})
	}
	return d.show(list, func(w io.Writer) {
		for _, c := range list {
			fmt.Fprintf(w, "%s\t%s\t%s\n", c.Name, strings.Join(append(c.Also, c.Words...), ", "), c.About)
		}
	})
}
