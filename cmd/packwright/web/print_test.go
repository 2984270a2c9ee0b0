package web

import (
	"fmt"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"packwright/cmd/packwright/printing"
	"packwright/events"
	"packwright/prep"
	"packwright/prep/label"
	"packwright/prep/label/labeltest"
	"packwright/workflow"
)

// fakeLP puts an lp before all others that keeps what it was given, and gives the
// directory: job-1, job-2 … and beside each its words.
func fakeLP(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	script := `#!/bin/sh
n=1; while [ -e "$LP_KEPT/job-$n" ]; do n=$((n+1)); done
if [ -e "$LP_KEPT/jammed" ]; then echo "lp: the printer is jammed" >&2; exit 1; fi
cat > "$LP_KEPT/job-$n"; echo "$@" > "$LP_KEPT/words-$n"
echo "request id is labels-$n (1 file(s))"
`
	if err := os.WriteFile(filepath.Join(dir, "lp"), []byte(script), 0o755); err != nil {
		t.Fatal(err)
	}
	t.Setenv("LP_KEPT", dir)
	t.Setenv("PATH", dir+":"+os.Getenv("PATH"))
	return dir
}

// paper sends the form that puts a kind of label on paper.
func (x *person) paper(page, kind, way string, more url.Values) (int, string) {
	x.d.t.Helper()
	for _, part := range strings.Split(x.opens(page), "<form ")[1:] {
		part, _, _ = strings.Cut(part, "</form>")
		if !strings.Contains(part, `name="kind" value="`+kind+`"`) {
			continue
		}
		form := url.Values{"way": {way}, "kind": {kind}}
		_, rest, _ := strings.Cut(part, `name="id" `)
		form.Set("id", attr(rest, "value"))
		for k, v := range more {
			form[k] = v
		}
		return x.post(attr(part, "action"), form)
	}
	x.d.t.Fatalf("%s puts no %s labels on paper", page, kind)
	return 0, ""
}

// TestLabelsOfARun: marks are given out by the log, go to paper once, and a torn
// label is printed again with a reason under a new number; the old one is refused.
func TestLabelsOfARun(t *testing.T) {
	labeltest.Tools(t)
	kept := fakeLP(t)
	d := playDesk(t, "09:40")
	d.pages.Printer = &printing.Printer{Name: "bench-2"}
	const page = "/print?run=R-06"
	hand := d.as(handAt(d, "ST-2"))
	if status, body := hand.sends(page, "print-labels", url.Values{"s.run": {"R-06"}, "s.kind": {"keep-sealed"}}); status != http.StatusOK {
		t.Fatalf("%d %s", status, body)
	}
	loose := looseOf(d, "R-06")
	if len(loose) != 14 {
		t.Fatalf("%d marks lie about", len(loose))
	}
	status, pdf := hand.paper(page, "keep-sealed", "pdf", nil)
	if status != http.StatusOK {
		t.Fatalf("%d %.300s", status, pdf)
	}
	var want []labeltest.Page
	for i, m := range loose {
		png, err := label.PNG(layOne(t, label.KeepSealed{Mark: m, Name: "Moss Golem no. 3", Run: "R-06"}))
		if err != nil {
			t.Fatal(err)
		}
		want = append(want, labeltest.Page{Name: "of-run", DPI: 203, PNG: png, PDF: []byte(pdf), Number: i + 1, Want: []string{"DM:" + m.Code()}})
	}
	labeltest.Read(t, []labeltest.Page{want[0], want[13]})
	if status, body := hand.post("/print/run/R-06", url.Values{"id": {"ST-2/form-other/1"}, "kind": {"keep-sealed"}, "way": {"printer"}}); status < 400 || !strings.Contains(body, "put on paper before") {
		t.Errorf("the same marks went to paper twice: %d %.300s", status, body)
	}
	if n := len(jobs(t, kept)); n != 0 {
		t.Errorf("%d jobs went to the printer", n)
	}

	hand.opens(page, "They were put on paper before")
	torn := loose[1]
	if status, body := hand.sends(page, "print-again", url.Values{"s.run": {"R-06"}, "s.from": {torn.Display()}}); status < 400 || !strings.Contains(body, "reason is missing") {
		t.Errorf("printed again without a reason: %d %.300s", status, body)
	}
	if status, body := hand.sends(page, "print-again", url.Values{"s.run": {"R-06"}, "s.from": {torn.Display()}, "s.why": {"torn by the tape"}}); status != http.StatusOK {
		t.Fatalf("%d %s", status, body)
	}
	hand.opens(page, "No more in force", torn.Display())
	now := looseOf(d, "R-06")
	if len(now) != 14 || now.Contains(torn) {
		t.Fatalf("after it lie about: %v", now)
	}
	fresh := now.Minus(loose)
	if len(fresh) != 1 {
		t.Fatalf("the new label is %v", fresh)
	}
	a := d.pages.Floor.Ask(t.Context(), workflow.Command{ID: "ST-2/live/1", Type: "labels-live", Badge: handAt(d, "ST-2"), Basis: events.Scan,
		Data: fmt.Appendf(nil, `{"run":"R-06","from":%q}`, torn.Display())})
	if a.Refusal == nil || a.Refusal.Code != "E-CAR-07" {
		t.Errorf("the torn label, scanned: %+v", a)
	}
	if _, ok := d.story("labels.spoiled", "torn by the tape"); !ok {
		t.Error("the log does not say why it was printed again")
	}
}

// TestToThePrinter: what goes to lp is what a page shows; a jam is told, and what did
// not reach paper may go again; a form pressed twice prints once.
func TestToThePrinter(t *testing.T) {
	kept := fakeLP(t)
	d := playDesk(t, "17:41")
	d.pages.Printer = &printing.Printer{Name: "bench-2"}
	odile := d.as("odile")
	_, pdf := odile.get("/print/badge/ife")
	if status, body := odile.post("/print/badge/ife", url.Values{"then": {"/people"}}); status != http.StatusOK || !strings.Contains(body, "request id is labels-1") {
		t.Fatalf("%d %s", status, body)
	}
	got := jobs(t, kept)
	if len(got) != 1 || got[0] != pdf {
		t.Errorf("%d jobs, and not what the page shows", len(got))
	}
	words, _ := os.ReadFile(filepath.Join(kept, "words-1"))
	if !strings.Contains(string(words), "-d bench-2") || !strings.Contains(string(words), "print-scaling=none") {
		t.Errorf("lp was told %q", words)
	}
	form, action := formIn(odile.opens("/print?carton=C-07"), "print-labels")
	form.Set("way", "printer")
	for i, says := range []string{"request id is labels-2", "It was done before"} {
		if status, body := odile.post(action, form); status != http.StatusOK || !strings.Contains(body, says) {
			t.Errorf("press %d: %d %.400s", i+1, status, body)
		}
	}
	if n := len(jobs(t, kept)); n != 2 {
		t.Errorf("%d jobs after a form pressed twice", n)
	}
	if err := os.WriteFile(filepath.Join(kept, "jammed"), nil, 0o644); err != nil {
		t.Fatal(err)
	}
	if status, body := odile.post("/print/test", url.Values{}); status < 400 || !strings.Contains(body, "the printer is jammed") {
		t.Errorf("a jam: %d %.400s", status, body)
	}
	d.pages.Printer = nil
	if status, body := odile.post("/print/test", url.Values{}); status < 400 || !strings.Contains(body, "his hub has no printer") {
		t.Errorf("no printer: %d %.400s", status, body)
	}
	if strings.Contains(odile.opens("/print"), "To the printer") {
		t.Error("a printer is offered that is not there")
	}
}

// TestPapers: who gets which paper, what is read on it, and what is refused.
func TestPapers(t *testing.T) {
	labeltest.Tools(t)
	d := playDesk(t, "17:41")
	odile, ife, quill := d.as("odile"), d.as("ife"), d.as("quill")
	for _, c := range []struct {
		who    *person
		path   string
		status int
		reads  string
	}{
		{odile, "/print/badge/ife", 200, "CODE-128:" + workflow.Signed("B-ife")},
		{odile, "/print/badge/nobody", 404, ""},
		{ife, "/print/badge/ife", 403, ""},
		{quill, "/print", 403, ""},
		{quill, "/print/contents/C-03", 403, ""},
		{ife, "/print/codes?codes=t-05,+t-06", 200, "CODE-128:" + workflow.Signed("T-05")},
		{ife, "/print/codes?codes=B-odile", 400, ""},
		{ife, "/print/codes?codes=", 400, ""},
		{ife, "/print/codes?codes=" + strings.Repeat("T-05+", mostCodes+1), 400, ""},
		{ife, "/print/cards?sheet=a4", 200, "-"},
		{ife, "/print/test", 200, "-"},
		{ife, "/print/test?dpi=72", 400, ""},
		{ife, "/print/contents/C-03", 200, "CODE-128:" + workflow.Signed("C-03")},
		{ife, "/print?run=R-99", 404, ""},
		{ife, "/print?run=R-01", 400, ""}, // over
	} {
		status, body := c.who.get(c.path)
		if status != c.status {
			t.Errorf("%s: %d, want %d: %.300s", c.path, status, c.status, body)
		}
		if c.reads == "" || c.reads == "-" || !strings.HasPrefix(body, "%PDF") {
			if c.reads != "" && !strings.HasPrefix(body, "%PDF") {
				t.Errorf("%s is no PDF", c.path)
			}
			continue
		}
		if got := labeltest.PDF(t, []byte(body), 203); !strings.Contains(strings.Join(got, " "), c.reads) {
			t.Errorf("%s reads %q, want %q", c.path, got, c.reads)
		}
	}
	if _, body := ife.get("/print/codes?codes=T-05&dpi=72"); !strings.Contains(body, "72 dots an inch") {
		t.Errorf("the refusal of a label's fit is not told: %.400s", body)
	}
}

// TestNoSheetBeforeTheCount: a carton without an accepted count has no contents
// sheet, whoever asks; its label holds no number of pieces.
func TestNoSheetBeforeTheCount(t *testing.T) {
	d := playDesk(t, "15:00")
	maren := d.as("maren")
	refused := 0
	_ = d.Look(t.Context(), "", func(v View) error {
		for i := range 14 {
			name := fmt.Sprintf("C-%02d", i+1)
			held, ok := v.Contents(name)
			if !ok || printing.Counted(held) {
				continue
			}
			status, body := maren.get("/print/contents/" + name)
			if status != http.StatusBadRequest || !strings.Contains(body, "no accepted count") || strings.HasPrefix(body, "%PDF") {
				t.Errorf("%s: %d %.200s", name, status, body)
			}
			if strings.Contains(maren.opens("/print?carton="+name), "/print/contents/") {
				t.Errorf("%s: a sheet is offered", name)
			}
			refused++
		}
		return nil
	})
	if refused == 0 {
		t.Fatal("no carton was without a count")
	}
}

func handAt(d *deskDay, station string) (badge string) {
	_ = d.eng.View(d.t.Context(), func(f *workflow.Floor) {
		for _, b := range f.Badges {
			if b.Station == station {
				badge = b.Badge
			}
		}
	})
	return badge
}

func looseOf(d *deskDay, run string) (out prep.Marks) {
	_ = d.eng.View(d.t.Context(), func(f *workflow.Floor) {
		for _, l := range f.LooseLabels(run) {
			out = append(out, l.Marks...)
		}
	})
	return out
}

// story finds an event of a kind that holds some words.
func (d *deskDay) story(kind, words string) (string, bool) {
	d.t.Helper()
	found := ""
	err := d.log.Scan(d.t.Context(), 1, func(_ uint64, frame []byte) error {
		for line := range strings.SplitSeq(string(frame), "\n") {
			if strings.Contains(line, kind) && strings.Contains(line, words) {
				found = line
			}
		}
		return nil
	})
	if err != nil {
		d.t.Fatal(err)
	}
	return found, found != ""
}

func layOne(t *testing.T, x label.Label) label.Layout {
	t.Helper()
	pages, err := printing.Lay(203, x)
	if err != nil {
		t.Fatal(err)
	}
	return pages[0]
}

func jobs(t *testing.T, dir string) (out []string) {
	t.Helper()
	for n := 1; ; n++ {
		b, err := os.ReadFile(filepath.Join(dir, fmt.Sprintf("job-%d", n)))
		if err != nil {
			return out
		}
		out = append(out, string(b))
	}
}
