package sheet

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"

	"packwright/prep"
)

// Column is one heading that a table may have.
type Column struct {
	Name  string
	Also  []string // other headings it answers to
	About string
	Must  bool
	code  bool // a row of signs, never a number
}

// ItemColumns lists the headings of a table of items. Beside them every
// attribute's name is a heading (prep.AttrNames).
func ItemColumns() []Column { return itemColumns }

// PlanColumns lists the headings of a table of plan lines.
func PlanColumns() []Column { return planColumns }

var itemColumns = []Column{
	{Name: "item", Also: []string{"item code", "sku", "article"}, About: "the floor's own short code, such as PUZ", Must: true, code: true},
	{Name: "name", Also: []string{"description", "title"}, About: "what people call it", Must: true},
	{Name: "codes", Also: []string{"code", "barcode", "barcodes", "gtin"}, About: "numbers under its barcodes, several with a space between", code: true},
	{Name: "owner", Also: []string{"owner scope"}, About: "whose goods; empty for anybody's", code: true},
	{Name: "trace", About: "class, mark or born; empty is class"},
	{Name: "unit", Also: []string{"unit mass", "unit weight"}, About: "mass of one prepped unit, with its unit: 640 g"},
	{Name: "unit_g", About: "the same as a bare number of grams"},
	{Name: "unit_sd", About: "standard deviation of that mass, with its unit"},
	{Name: "unit_sd_g", About: "the same as a bare number of grams"},
	{Name: "dims", Also: []string{"dimensions", "size"}, About: "three outside measures with a unit: 6.25 x 4.5 x 3.5 in"},
	{Name: "dims_mm", About: "the same as bare numbers of millimetres"},
	{Name: "value_minor", About: "what one is worth, in cents or the like"},
	{Name: "set_of", Also: []string{"set"}, About: "how many pieces are sold as one"},
}

var planColumns = []Column{
	{Name: "carton", Also: []string{"box", "carton code"}, About: "the carton's number, such as C-07", Must: true, code: true},
	{Name: "item", Also: []string{"item code", "sku", "article"}, About: "the item's short code", Must: true, code: true},
	{Name: "q", Also: []string{"qty", "quantity", "units", "pieces"}, About: "how many, digits only", Must: true},
	{Name: "owner", Also: []string{"client"}, About: "whose goods; empty takes --owner", code: true},
}

// fold makes headings comparable: case, underscores, hyphens and full stops do not count.
func fold(heading string) string {
	heading = strings.Map(func(r rune) rune {
		if strings.ContainsRune("_-.\n", r) {
			return ' '
		}
		return r
	}, strings.ToLower(heading))
	return strings.Join(strings.Fields(heading), " ")
}

// reading is a table being turned into things; every problem is gathered.
type reading struct {
	t       *Table
	columns []Column
	at      map[string]int // column's name → place in a row
	errs    []error
}

// match finds the column of each heading. Nothing can be read without them.
func match(t *Table, columns []Column) (*reading, error) {
	var coded []int
	rd := &reading{t: t, columns: columns, at: map[string]int{}}
	for i, head := range t.Header {
		c := rd.find(head.Text)
		switch {
		case head.Text == "" && rd.unused(i):
		case head.Text == "":
			rd.fail(head, fmt.Sprintf("column %d holds cells and has no heading", i+1), "name it or empty it")
		case c == nil:
			rd.fail(head, fmt.Sprintf("%q is no heading known here", head.Text), "choose from "+rd.names())
		case rd.has(c.Name):
			rd.fail(head, fmt.Sprintf("%q is a second column for %s", head.Text, c.Name), "keep one of them")
		default:
			rd.at[c.Name] = i
			if c.code {
				coded = append(coded, i)
			}
		}
	}
	for _, c := range columns {
		if c.Must && !rd.has(c.Name) {
			rd.fail(t.Header[0], "there is no column "+c.Name, "add it: "+c.About)
		}
	}
	if len(rd.errs) > 0 {
		return nil, rd.failed()
	}
	for _, i := range coded {
		rd.codes(i)
	}
	return rd, nil
}

// failed joins what was found, and what was wrong with the rows, in the file's
// order; of one place only the first.
func (rd *reading) failed() error {
	all := append(slices.Clone(rd.t.ragged), rd.errs...)
	slices.SortStableFunc(all, func(a, b error) int {
		x, y := a.(*prep.InputError), b.(*prep.InputError)
		return cmp.Or(cmp.Compare(x.Line, y.Line), cmp.Compare(x.Col, y.Col))
	})
	all = slices.CompactFunc(all, func(a, b error) bool {
		x, y := a.(*prep.InputError), b.(*prep.InputError)
		return x.Line == y.Line && x.Col == y.Col
	})
	return errors.Join(all...)
}

func (rd *reading) find(heading string) *Column {
	want := fold(heading)
	for i, c := range rd.columns {
		if fold(c.Name) == want {
			return &rd.columns[i]
		}
		for _, also := range c.Also {
			if also == want {
				return &rd.columns[i]
			}
		}
	}
	return nil
}

func (rd *reading) has(name string) bool {
	_, ok := rd.at[name]
	return ok
}

func (rd *reading) names() string {
	var names []string
	for _, c := range rd.columns {
		names = append(names, c.Name)
	}
	return strings.Join(names, ", ")
}

func (rd *reading) unused(col int) bool {
	for _, r := range rd.t.Rows {
		if r.Cells[col].Text != "" {
			return false
		}
	}
	return true
}

// codes refuses codes that a spreadsheet turned into a number.
func (rd *reading) codes(col int) {
	for _, r := range rd.t.Rows {
		if c := r.Cells[col]; exponent.MatchString(c.Text) {
			rd.fail(c, fmt.Sprintf("%s was a code; the spreadsheet has cut its digits", c.Text), "format the column as text and enter the codes again")
		}
	}
}

// cell gives a row's cell under a column; empty when the table has no such column.
func (rd *reading) cell(r Row, name string) Cell {
	i, ok := rd.at[name]
	if !ok {
		return Cell{Line: r.Line, Col: 1}
	}
	return r.Cells[i]
}

func (rd *reading) fail(c Cell, what, do string) {
	rd.errs = append(rd.errs, rd.t.problem(c, what, do))
}

// place puts the errors of a cell's reader where the cell stands.
func (rd *reading) place(c Cell, err error) {
	for _, e := range unjoined(err) {
		var in *prep.InputError
		if errors.As(e, &in) {
			rd.fail(c, in.What, in.Do)
			continue
		}
		rd.fail(c, e.Error(), "")
	}
}

func unjoined(err error) []error {
	if many, ok := err.(interface{ Unwrap() []error }); ok {
		return many.Unwrap()
	}
	if err == nil {
		return nil
	}
	return []error{err}
}

// whole reads a quantity: digits and nothing else.
func (rd *reading) whole(c Cell) int {
	n := 0
	for _, r := range c.Text {
		if r < '0' || r > '9' || n > 1_000_000 {
			rd.fail(c, fmt.Sprintf("%q is no whole number", c.Text), "write digits only, such as 12")
			return 0
		}
		n = n*10 + int(r-'0')
	}
	if c.Text == "" {
		rd.fail(c, "a quantity is missing", "write digits only, such as 12")
	}
	return n
}
