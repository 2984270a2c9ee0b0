package sheet

import (
	"bytes"
	"regexp"
	"strings"

	"github.com/xuri/excelize/v2"

	"packwright/prep"
)

// Limits of an unpacked workbook.
const (
	maxUnpacked = 128 << 20
	maxSheet    = 64 << 20
)

// readWorkbook reads the first sheet that has cells. Hidden sheets count like others.
func (t *Table) readWorkbook(src []byte) ([]Row, error) {
	book, err := openWorkbook(src)
	if err != nil {
		return nil, &prep.InputError{File: t.File, What: "the workbook cannot be opened: " + err.Error(), Do: "save it again without a password, or as CSV"}
	}
	defer book.Close()
	var filled []string
	var rows []Row
	for _, name := range book.GetSheetList() {
		got, err := t.readSheet(book, name)
		if err != nil {
			return nil, err
		}
		if len(got) == 0 {
			continue
		}
		if filled = append(filled, name); len(filled) == 1 {
			rows = got
		}
	}
	if len(filled) > 1 {
		t.Warnings = append(t.Warnings, &prep.InputError{File: t.File, What: "only the sheet " + filled[0] + " was read",
			Do: "not read: " + strings.Join(filled[1:], ", ")})
	}
	return rows, nil
}

// openWorkbook turns a panic of the reader on a malformed file into an error.
func openWorkbook(src []byte) (book *excelize.File, err error) {
	defer guard(&err)
	return excelize.OpenReader(bytes.NewReader(src), excelize.Options{UnzipSizeLimit: maxUnpacked, UnzipXMLSizeLimit: maxSheet})
}

// readSheet reads the shown text of one sheet's cells.
func (t *Table) readSheet(book *excelize.File, name string) ([]Row, error) {
	shown, err := sheetText(book, name, false)
	if err == nil && len(shown) == 0 {
		return nil, nil
	}
	var raw [][]string
	if err == nil {
		raw, err = sheetText(book, name, true)
	}
	if err != nil {
		return nil, &prep.InputError{File: t.File, What: "the sheet " + name + " cannot be read: " + err.Error(), Do: "save it again, or as CSV"}
	}
	rows := make([]Row, len(shown))
	for i, cells := range shown {
		rows[i].Line = i + 1
		for j, text := range cells {
			c := Cell{Text: clean(text), Line: i + 1, Col: j + 1}
			if i < len(raw) && j < len(raw[i]) {
				t.wholeDigits(&c, raw[i][j])
			}
			rows[i].Cells = append(rows[i].Cells, c)
		}
	}
	return rows, nil
}

func sheetText(book *excelize.File, name string, raw bool) (rows [][]string, err error) {
	defer guard(&err)
	return book.GetRows(name, excelize.Options{RawCellValue: raw})
}

func guard(err *error) {
	if recover() != nil {
		*err = errBroken
	}
}

// errBroken stands for whatever the reader tripped over.
var errBroken = &prep.InputError{What: "its parts do not fit together"}

// exponent is a number as a spreadsheet shows it when its column is narrow.
var exponent = regexp.MustCompile(`^[+-]?\d+([.,]\d+)?[eE]\+\d+$`)

// spreadsheetDigits is how many digits of a number a spreadsheet keeps.
const spreadsheetDigits = 15

var wholeNumber = regexp.MustCompile(`^\d+$`)

// wholeDigits puts back the digits that the cell keeps and only does not show.
func (t *Table) wholeDigits(c *Cell, raw string) {
	if exponent.MatchString(c.Text) && wholeNumber.MatchString(raw) && len(raw) <= spreadsheetDigits {
		t.warn(*c, "shown as "+c.Text+", read as "+raw, "format the column as text or as a number without decimals")
		c.Text = raw
	}
}
