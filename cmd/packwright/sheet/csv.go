package sheet

import (
	"encoding/csv"
	"errors"
	"io"
	"regexp"
	"strings"
	"unicode/utf8"
)

// readText reads a CSV file into rows.
func (t *Table) readText(src []byte) ([]Row, error) {
	text, err := t.decode(src)
	if err != nil {
		return nil, err
	}
	t.lines = strings.Split(text, "\n")
	sep, begin := separator(text)
	return (&records{t: t, text: text, sep: sep}).all(begin)
}

// sepLine is the first line by which a file names its separator.
var sepLine = regexp.MustCompile(`(?i)^"?sep=([;,|\t])"?\r?(\n|$)`)

// separator gives the cells' separator and where the table begins.
func separator(text string) (sep rune, begin int) {
	if m := sepLine.FindStringSubmatch(text); m != nil {
		return rune(m[1][0]), len(m[0])
	}
	counts := map[rune]int{}
	quoted := false
	for _, r := range strings.TrimLeft(text, "\r\n") {
		switch r {
		case '"':
			quoted = !quoted
		case ';', '\t', ',':
			if !quoted {
				counts[r]++
			}
		}
		if r == '\n' && !quoted {
			break
		}
	}
	sep = ','
	for _, r := range []rune{'\t', ';'} {
		if counts[r] > 0 && counts[r] >= counts[sep] {
			sep = r
		}
	}
	return sep, 0
}

// records reads rows out of a text, one reader after another: a record that only
// a lenient reader takes is read by one, and a strict one goes on behind it.
type records struct {
	t    *Table
	text string
	sep  rune
	rows []Row
}

func (rs *records) reader(offset int, lenient bool) *csv.Reader {
	r := csv.NewReader(strings.NewReader(rs.text[offset:]))
	r.Comma, r.FieldsPerRecord, r.LazyQuotes = rs.sep, -1, lenient
	return r
}

// all reads every record from an offset on.
func (rs *records) all(offset int) ([]Row, error) {
	for offset < len(rs.text) {
		next, err := rs.strict(offset)
		if errors.Is(err, csv.ErrBareQuote) {
			next, err = rs.lenient(next)
		}
		if err != nil {
			return nil, err
		}
		offset = next
	}
	return rs.rows, nil
}

// strict reads records until the end, or until one has a quote sign where none
// belongs: then it gives that record's offset.
func (rs *records) strict(offset int) (int, error) {
	r := rs.reader(offset, false)
	base := strings.Count(rs.text[:offset], "\n")
	for {
		start := offset + int(r.InputOffset())
		cells, err := r.Read()
		var bad *csv.ParseError
		switch {
		case err == io.EOF:
			return len(rs.text), nil
		case errors.Is(err, csv.ErrBareQuote):
			return start, csv.ErrBareQuote
		case errors.As(err, &bad):
			at := rs.cell("", base+bad.Line, bad.Column)
			if bad.Line != bad.StartLine {
				at = rs.cell("", base+bad.StartLine, 1)
			}
			return 0, rs.t.problem(at, "the quotes of a cell do not close where it ends", "close them, or write a quote sign inside quotes twice, as in \"8.5\"\" bag\"")
		case err != nil:
			return 0, err
		}
		rs.take(r, cells, base)
	}
}

// lenient reads the one record that begins at offset with its bare quote signs
// kept, and gives where the next begins. It never reads over a line's end: what
// opens there would swallow the rows below.
func (rs *records) lenient(offset int) (int, error) {
	r := rs.reader(offset, true)
	base := strings.Count(rs.text[:offset], "\n")
	cells, err := r.Read()
	if err != nil {
		return 0, err
	}
	end := offset + int(r.InputOffset())
	first, _ := r.FieldPos(0)
	at := rs.cell("", base+first, 1)
	if strings.Contains(strings.Trim(rs.text[offset:end], "\r\n"), "\n") {
		return 0, rs.t.problem(at, "a quote sign opens a cell that does not close on its line", "close it, or write a quote sign inside quotes twice")
	}
	rs.take(r, cells, base)
	for _, c := range rs.rows[len(rs.rows)-1].Cells {
		if strings.Contains(c.Text, `"`) {
			rs.t.warn(c, "a quote sign outside quotes was kept as it stands", "put quotes round the cell and write the sign twice")
		}
	}
	return end, nil
}

// take adds the record just read. base is the number of lines before its reader's text.
func (rs *records) take(r *csv.Reader, cells []string, base int) {
	row := Row{}
	for i, text := range cells {
		line, col := r.FieldPos(i)
		row.Cells = append(row.Cells, rs.cell(clean(text), base+line, col))
	}
	row.Line = row.Cells[0].Line
	rs.rows = append(rs.rows, row)
}

// cell makes a cell from a place whose column counts bytes.
func (rs *records) cell(text string, line, col int) Cell {
	if line <= len(rs.t.lines) {
		s := rs.t.lines[line-1]
		col = utf8.RuneCountInString(s[:min(col-1, len(s))]) + 1
	}
	return Cell{Text: text, Line: line, Col: col}
}
