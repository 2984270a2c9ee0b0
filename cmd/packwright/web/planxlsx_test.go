package web

import (
	"bytes"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"
)

// workbook makes a spreadsheet as people keep one: a carton's number typed as a
// number under a format that shows its zeros, one as text, an empty row, and one
// whose zeros nobody kept. Quantity stands in the last row.
func workbook(t *testing.T, quantity any) string {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	zeros, day := "0000", "yyyy-mm-dd"
	shown, err := f.NewStyle(&excelize.Style{CustomNumFmt: &zeros})
	if err != nil {
		t.Fatal(err)
	}
	dated, err := f.NewStyle(&excelize.Style{CustomNumFmt: &day})
	if err != nil {
		t.Fatal(err)
	}
	for i, row := range [][]any{
		{"Carton", "Item", "Q", "Owner"},
		{15, "MG3", 4, "house"},
		{"0016", "PUZ", 2, "house"},
		{},
		{17, "PUZ", quantity, "house"},
	} {
		if err := f.SetSheetRow("Sheet1", fmt.Sprintf("A%d", i+1), &row); err != nil {
			t.Fatal(err)
		}
	}
	if err := f.SetCellStyle("Sheet1", "A2", "A2", shown); err != nil {
		t.Fatal(err)
	}
	if _, is := quantity.(time.Time); is {
		if err := f.SetCellStyle("Sheet1", "C5", "C5", dated); err != nil {
			t.Fatal(err)
		}
	}
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// TestPlanFromWorkbook: a spreadsheet is shown as its owner sees it, its leading
// zeros kept, and what is released is what was shown.
func TestPlanFromWorkbook(t *testing.T) {
	d := playDesk(t, "17:41")
	odile := d.as("odile")
	file := workbook(t, 1.0)
	status, body := odile.file("plan.xlsx", file, url.Values{"plan": {"P-02"}})
	if status != http.StatusOK {
		t.Fatalf("%d %s", status, body)
	}
	for _, s := range []string{"plan P-02 is new", "0015", "0016", ">17<", "Moss Golem figure no. 3", "Release plan P-02"} {
		if !strings.Contains(body, s) {
			t.Errorf("the preview does not say %q", s)
		}
	}
	form, action := formIn(body, "release")
	form.Set("j.lines", strings.ReplaceAll(form.Get("j.lines"), "&#34;", `"`))
	if status, body := odile.post(action, form); status != http.StatusOK {
		t.Fatalf("%d %s", status, body)
	}
	odile.opens("/plans/P-02", "0015", "0016", ">7</b> pieces in r1")
	line, ok := d.story("plan.released", `"P-02"`)
	if !ok || !strings.Contains(line, `"0015"`) || !strings.Contains(line, `"0016"`) {
		t.Errorf("the log keeps %s", line)
	}
	// a spreadsheet that took a number for a day
	date := time.Date(2031, 3, 7, 0, 0, 0, 0, time.UTC)
	if status, body = odile.file("plan.xlsx", workbook(t, date), url.Values{"plan": {"P-03"}}); status < 400 || !strings.Contains(body, "plan.xlsx:5:3") || !strings.Contains(body, "Nothing was kept") {
		t.Errorf("a day for a quantity: %d %s", status, body)
	}
	if status, body = odile.file("plan.xlsx", file[:len(file)/2], url.Values{"plan": {"P-03"}}); status < 400 || !strings.Contains(body, "Nothing was kept") {
		t.Errorf("half a workbook: %d %.300s", status, body)
	}
}
