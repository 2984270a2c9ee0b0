package sheet

import (
	"archive/zip"
	"bytes"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
)

// TestWorkbook: a workbook gives what its cells show. The leading zeros of a
// number format stay, the digits behind 1.23E+11 come back, a second sheet is named.
func TestWorkbook(t *testing.T) {
	book := excelize.NewFile()
	zeros := "0000000000000"
	padded, err := book.NewStyle(&excelize.Style{CustomNumFmt: &zeros})
	if err != nil {
		t.Fatal(err)
	}
	narrow, err := book.NewStyle(&excelize.Style{NumFmt: 11}) // 0.00E+00
	if err != nil {
		t.Fatal(err)
	}
	for cell, v := range map[string]any{
		"A1": "item", "B1": "name", "C1": "codes", "D1": "set_of", "E1": "fragile",
		"A2": "PUZ", "B2": "harbour puzzle", "C2": 952000001004, "D2": 2, "E2": false,
		"A3": "DSC", "B3": "discs", "C3": 952000001002, "D3": 1,
		"A4": "TRY", "B4": "play\nset", "C4": "09520000010034",
	} {
		if err := book.SetCellValue("Sheet1", cell, v); err != nil {
			t.Fatal(err)
		}
	}
	_ = book.SetCellValue("Sheet1", "C2", 10041) // 13 digits only by its format
	_ = book.SetCellValue("Sheet1", "C3", 9520000010065)
	_ = book.SetCellStyle("Sheet1", "C2", "C2", padded)
	_ = book.SetCellStyle("Sheet1", "C3", "C3", narrow)
	if _, err := book.NewSheet("notes"); err != nil {
		t.Fatal(err)
	}
	_ = book.SetCellValue("notes", "B2", "call me")
	table := readBook(t, "items.xlsx", book)
	var codes []string
	for _, r := range table.Rows {
		codes = append(codes, r.Cells[2].Text)
	}
	if got := strings.Join(codes, " "); got != "0000000010041 9520000010065 09520000010034" {
		t.Errorf("codes %s", got)
	}
	if len(table.Warnings) != 2 || !strings.Contains(table.Warnings[0].Error(), "items.xlsx:3:3: shown as 9.52E+12, read as 9520000010065") ||
		!strings.Contains(table.Warnings[1].Error(), "not read: notes") {
		t.Errorf("warnings %v", table.Warnings)
	}
	// 0000000010041 has a wrong check digit: refused at its cell.
	_, err = Items(table)
	if got := flat(err); len(got) != 1 || got[0].Line != 2 || got[0].Col != 3 {
		t.Errorf("problems %v", err)
	}
}

// TestWorkbookLosesDigits: a number of more than 15 digits has lost some.
func TestWorkbookLosesDigits(t *testing.T) {
	book := excelize.NewFile()
	for cell, v := range map[string]any{"A1": "carton", "B1": "item", "C1": "q", "A2": 95200000000000011, "B2": "PUZ", "C2": 3} {
		_ = book.SetCellValue("Sheet1", cell, v)
	}
	_, err := PlanLines(readBook(t, "plan.xlsx", book), "house")
	got := flat(err)
	if len(got) != 1 || got[0].Col != 1 || !strings.Contains(got[0].What, "cut its digits") {
		t.Errorf("problems %v", err)
	}
	_ = book.SetCellValue("Sheet1", "A2", "C-01")
	_ = book.SetCellValue("Sheet1", "C2", 12.5)
	_, err = PlanLines(readBook(t, "plan.xlsx", book), "house")
	if got := flat(err); len(got) != 1 || got[0].Error() != `plan.xlsx:2:3: "12.5" is no whole number; write digits only, such as 12` {
		t.Errorf("problems %v", err)
	}
}

func readBook(t *testing.T, name string, book *excelize.File) *Table {
	t.Helper()
	b, err := book.WriteToBuffer()
	if err != nil {
		t.Fatal(err)
	}
	table, err := Read(name, b.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	return table
}

// byHand is a workbook written part by part from the file format's own rules
// (ECMA-376), not by the library that reads it.
func byHand(t *testing.T, sheetXML string) []byte {
	t.Helper()
	const head = `<?xml version="1.0" encoding="UTF-8" standalone="yes"?>`
	parts := []struct{ name, body string }{
		{"[Content_Types].xml", head + `<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="xml" ContentType="application/xml"/><Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/><Override PartName="/xl/worksheets/sheet1.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"/></Types>`},
		{"_rels/.rels", head + `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument" Target="xl/workbook.xml"/></Relationships>`},
		{"xl/workbook.xml", head + `<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="lines" sheetId="1" r:id="r1"/></sheets></workbook>`},
		{"xl/_rels/workbook.xml.rels", head + `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet1.xml"/></Relationships>`},
		{"xl/worksheets/sheet1.xml", head + `<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>` + sheetXML + `</sheetData></worksheet>`},
	}
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, p := range parts {
		w, err := z.Create(p.name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := w.Write([]byte(p.body)); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// TestWorkbookByHand: cells that are left out, rows that begin late, a formula
// with the value it was saved with.
func TestWorkbookByHand(t *testing.T) {
	cell := func(ref, text string) string {
		return `<c r="` + ref + `" t="inlineStr"><is><t>` + text + `</t></is></c>`
	}
	src := byHand(t, `<row r="3">`+cell("B3", "Carton")+cell("C3", "Item")+cell("E3", "Qty")+`</row>`+
		`<row r="5">`+cell("B5", "C-01")+cell("C5", "00123")+`<c r="E5"><f>6*2</f><v>12</v></c></row>`+
		`<row r="6">`+cell("B6", "C-02")+cell("C6", "PUZ")+`<c r="E6"><v>3</v></c></row>`)
	table, err := Read("plan.xlsx", src)
	if err != nil {
		t.Fatal(err)
	}
	lines, err := PlanLines(table, "house")
	if err != nil {
		t.Fatal(err)
	}
	if len(lines) != 2 || lines[0].Item != "00123" || lines[0].Q != 12 || lines[1].Q != 3 || table.Rows[0].Line != 5 {
		t.Errorf("lines %+v", lines)
	}
	if _, err := Read("plan.xlsx", src[:len(src)/2]); err == nil {
		t.Error("half a workbook was read")
	}
}
