package sheet

import (
	"bytes"
	"fmt"
	"regexp"
	"strings"

	"packwright/prep"
)

// Largest file and table that is read. A floor's catalogue is a few thousand rows.
const (
	MaxBytes = 16 << 20
	maxRows  = 200_000
)

// Table is a sheet: a heading and rows of text, each cell with its place.
type Table struct {
	File     string
	Header   []Cell
	Rows     []Row              // blank rows are left out; each has a cell for every heading
	Warnings []*prep.InputError // what was read, and deserves a look

	lines    []string // of a text file, for showing a problem's line
	ragged   []error  // rows with cells that no heading names
	workbook bool
}

// Row is one row. Line is where it begins.
type Row struct {
	Line  int
	Cells []Cell
}

// Cell is one cell's text, trimmed, and where it stands, from 1. In a workbook
// Col is the number of the column, else the character within the line.
type Cell struct {
	Text      string
	Line, Col int
}

// Read takes a file's bytes; file is its name for messages. Errors: *prep.InputError, joined.
func Read(file string, src []byte) (*Table, error) {
	t := &Table{File: file}
	if len(src) > MaxBytes {
		return nil, &prep.InputError{File: file, What: fmt.Sprintf("the file has more than %d MiB", MaxBytes>>20), Do: "split it"}
	}
	var rows []Row
	var err error
	if bytes.HasPrefix(src, []byte("PK\x03\x04")) {
		t.workbook = true
		rows, err = t.readWorkbook(src)
	} else {
		rows, err = t.readText(src)
	}
	if err != nil {
		return nil, err
	}
	if err := t.arrange(rows); err != nil {
		return nil, err
	}
	return t, nil
}

// arrange takes the first row that is not blank as the heading, and gives every
// row as many cells.
func (t *Table) arrange(rows []Row) error {
	for _, r := range rows {
		if r.blank() {
			continue
		}
		if t.Header == nil {
			t.Header = r.Cells
			continue
		}
		for i := len(t.Header); i < len(r.Cells); i++ {
			if r.Cells[i].Text != "" {
				t.ragged = append(t.ragged, t.problem(r.Cells[i], fmt.Sprintf("this row has %d cells, the heading has %d", len(r.Cells), len(t.Header)),
					"put quotes round a cell that holds the separator, or name the column"))
				break
			}
		}
		for i := len(r.Cells); i < len(t.Header); i++ {
			r.Cells = append(r.Cells, Cell{Line: r.Line, Col: t.behind(r)})
		}
		r.Cells = r.Cells[:len(t.Header)]
		t.Rows = append(t.Rows, r)
	}
	switch {
	case len(t.Rows) == 0:
		return &prep.InputError{File: t.File, What: "the table is empty", Do: "write a heading row and the rows under it"}
	case len(t.Rows) > maxRows:
		return &prep.InputError{File: t.File, What: fmt.Sprintf("the table has more than %d rows", maxRows), Do: "split it"}
	}
	return nil
}

// behind gives the column after a row's last cell: where the missing ones would stand.
func (t *Table) behind(r Row) int {
	if t.workbook {
		return len(r.Cells) + 1
	}
	last := r.Cells[len(r.Cells)-1]
	if last.Line <= len(t.lines) {
		return len([]rune(strings.TrimRight(t.lines[last.Line-1], "\r"))) + 1
	}
	return last.Col
}

func (r Row) blank() bool {
	for _, c := range r.Cells {
		if c.Text != "" {
			return false
		}
	}
	return true
}

// problem says what is wrong with a cell.
func (t *Table) problem(c Cell, what, do string) *prep.InputError {
	e := &prep.InputError{File: t.File, Line: c.Line, Col: c.Col, What: what, Do: do}
	if c.Line > 0 && c.Line <= len(t.lines) {
		e.Snippet = short(strings.TrimRight(t.lines[c.Line-1], "\r"))
	}
	return e
}

func (t *Table) warn(c Cell, what, do string) {
	t.Warnings = append(t.Warnings, t.problem(c, what, do))
}

// short cuts a line that no terminal would show whole.
func short(s string) string {
	const longest = 200
	if r := []rune(s); len(r) > longest {
		return string(r[:longest])
	}
	return s
}

// excelText is how exports force a spreadsheet to keep a code as text.
var excelText = regexp.MustCompile(`^="([^"]*)"$`)

// clean takes off what surrounds a cell's text: spaces of any kind, the
// apostrophe or ="…" that told a spreadsheet to leave a code, or what looks like a
// formula, alone.
func clean(s string) string {
	s = strings.TrimSpace(strings.ReplaceAll(s, "\r\n", "\n"))
	if m := excelText.FindStringSubmatch(s); m != nil {
		return strings.TrimSpace(m[1])
	}
	if len(s) > 1 && s[0] == '\'' && (s[1] >= '0' && s[1] <= '9' || likeFormula(s[1:])) {
		return s[1:]
	}
	return s
}
