package sheet

import (
	"fmt"
	"slices"
	"strings"

	"packwright/prep"
)

// Listed is an item and the line of the file that it stands on; 0: not known.
type Listed struct {
	prep.Item
	Line int
}

// Items turns a table into items. A cell left empty leaves an answer open; an
// attribute's TRUE and FALSE stand for yes and no. Errors: *prep.InputError, joined.
func Items(t *Table) ([]Listed, error) {
	columns := slices.Clone(itemColumns)
	for _, name := range prep.AttrNames() {
		columns = append(columns, Column{Name: name, About: prep.AttrQuestion(name)})
	}
	rd, err := match(t, columns)
	if err != nil {
		return nil, err
	}
	seen := map[string]Cell{}
	items := make([]Listed, 0, len(t.Rows))
	for _, r := range t.Rows {
		it := rd.item(r)
		rd.once(seen, "item "+it.Item.Item, rd.cell(r, "item"))
		for _, code := range it.Codes {
			rd.once(seen, "code "+strings.TrimLeft(string(code), "0"), rd.cell(r, "codes"))
		}
		items = append(items, it)
	}
	if err := rd.failed(); err != nil {
		return nil, err
	}
	return items, nil
}

// once refuses a name that an earlier row has.
func (rd *reading) once(seen map[string]Cell, what string, c Cell) {
	if first, ok := seen[what]; ok && c.Text != "" {
		rd.fail(c, fmt.Sprintf("%s is on line %d already", what, first.Line), "keep one of them")
		return
	}
	seen[what] = c
}

func (rd *reading) item(r Row) Listed {
	before := len(rd.errs)
	it := prep.Item{Trace: prep.TraceClass}
	it.Item = rd.cell(r, "item").Text
	it.Name = rd.cell(r, "name").Text
	it.Owner = rd.cell(r, "owner").Text
	if trace := rd.cell(r, "trace").Text; trace != "" {
		it.Trace = prep.Trace(strings.ToLower(trace))
	}
	rd.numbers(r, &it)
	for _, name := range prep.AttrNames() {
		c := rd.cell(r, name)
		rd.place(c, prep.SetAttr(&it.Attrs, name, plainAnswer(name, c.Text)))
	}
	if len(rd.errs) == before { // what follows from a value that could not be read is no news
		rd.place(rd.cell(r, "item"), it.Validate())
	}
	return Listed{it, r.Line}
}

// numbers reads codes, masses, measures and amounts.
func (rd *reading) numbers(r Row, it *prep.Item) {
	codes := rd.cell(r, "codes")
	for _, word := range strings.FieldsFunc(codes.Text, func(r rune) bool { return strings.ContainsRune(" ,;|\n", r) }) {
		code, err := prep.ParseGTIN(word)
		if err != nil {
			rd.place(codes, err)
			continue
		}
		it.Codes = append(it.Codes, code)
	}
	it.UnitG = measured(rd, r, "unit", "unit_g", " g", prep.ParseMass)
	it.UnitSD = measured(rd, r, "unit_sd", "unit_sd_g", " g", prep.ParseMass)
	it.Dims = measured(rd, r, "dims", "dims_mm", " mm", prep.ParseDims)
	if c := rd.cell(r, "value_minor"); c.Text != "" {
		value, err := prep.ParseMoney(c.Text)
		rd.place(c, err)
		it.Value = value
	}
	if c := rd.cell(r, "set_of"); c.Text != "" {
		it.Set = rd.whole(c)
	}
}

// measured reads a measure from the column whose cells have units, or from the
// one whose heading has it.
func measured[T comparable](rd *reading, r Row, with, bare, unit string, parse func(string) (T, error)) T {
	var none T
	c, b := rd.cell(r, with), rd.cell(r, bare)
	text := c.Text
	switch {
	case c.Text != "" && b.Text != "":
		rd.fail(b, with+" and "+bare+" are both given", "keep one of them")
		return none
	case b.Text != "":
		c, text = b, b.Text+unit
	}
	if text == "" {
		return none
	}
	v, err := parse(text)
	rd.place(c, err)
	return v
}

// plainAnswer turns a spreadsheet's own yes and no into words.
func plainAnswer(attr, text string) string {
	words := prep.AttrWords(attr)
	switch {
	case strings.EqualFold(text, "true") && slices.Contains(words, "yes"):
		return "yes"
	case strings.EqualFold(text, "false") && slices.Contains(words, "no"):
		return "no"
	}
	return text
}
