package web

import (
	"bytes"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
)

// TestPlans: both revisions side by side for who reads all; a client finds its
// own lines alone.
func TestPlans(t *testing.T) {
	d := playDesk(t, "17:41")
	maren, quill := d.as("maren"), d.as("quill")
	maren.opens("/plans", "P-01", ">221</b> pieces in <b class=\"num\">14</b> cartons", "PC-01", "approved 11:55, r2 since then", "Bring a plan in")
	maren.opens("/plans/P-01", "r1 beside r2", "10 fewer than in r1", "12 → 11</b>", "agreed by odile, quill")
	maren.opens("/plans/P-01?from=1&to=1", "r1 beside r1")
	for _, path := range []string{"/plans", "/plans/P-01", "/change/PC-01", "/plans/P-01/ask"} {
		body := quill.opens(path)
		for _, other := range []string{"C-02", "C-10", "MG3", "GLD", "WSH", "house", "221", "231", "Bring a plan in", "odile"} {
			if strings.Contains(body, other) {
				t.Errorf("%s shows a client %q", path, other)
			}
		}
	}
	quill.opens("/plans/P-01", ">61</b> pieces of yours", "5 fewer")
	for _, path := range []string{"/plans/P-99", "/change/PC-99"} {
		if status, _ := maren.get(path); status != http.StatusNotFound {
			t.Errorf("%s: %d", path, status)
		}
	}
}

// TestChangeAnswered: each owner is asked for its own lines; a second press does
// no harm, and says when it was answered.
func TestChangeAnswered(t *testing.T) {
	d := playDesk(t, "11:45")
	odile, quill := d.as("odile"), d.as("quill")
	odile.opens("/change/PC-01", "Ship 10 pieces fewer?", "Approve my 5", "Decline", "quill’s: 5 pieces, not answered", "no count is lost")
	page := quill.opens("/change/PC-01", "Ship 5 pieces fewer?", "Of yours, plan P-01 r1 has 66 pieces", ">61</b>")
	form, action := formIn(page, "approve")
	for i, want := range []string{"It stands in the log.", "It was done before."} {
		if status, body := quill.post(action, form); status != http.StatusOK || !strings.Contains(body, want) {
			t.Errorf("press %d: %d %s", i+1, status, body)
		}
	}
	quill.opens("/change/PC-01", "Already approved at 11:4", "The others have not answered yet")
	form.Set("id", form.Get("id")+"1") // another telephone
	if status, body := quill.post(action, form); status != http.StatusOK || !strings.Contains(body, "Already answered at 11:4") {
		t.Errorf("from another telephone: %d %s", status, body)
	}
	if status, body := odile.sends("/change/PC-01", "approve", nil); status != http.StatusOK {
		t.Errorf("the owner: %d %s", status, body)
	}
	if body := odile.opens("/change/PC-01", "Already approved at 11:4"); strings.Contains(body, "Decline") {
		t.Error("what is answered can be answered again")
	}
	odile.opens("/plans/P-01", "10 fewer than in r1")
}

// TestChangeDeclined: a no ends it for all, and says why.
func TestChangeDeclined(t *testing.T) {
	d := playDesk(t, "11:45")
	odile := d.as("odile")
	if status, body := odile.sends("/change/PC-01", "decline", url.Values{"s.reason": {"look again"}}); status != http.StatusOK {
		t.Errorf("%d %s", status, body)
	}
	odile.opens("/change/PC-01", "Declined at 11:4", "look again")
}

// TestPlanAsk: lines that change become a proposal, for the matter it settles.
func TestPlanAsk(t *testing.T) {
	d := playDesk(t, "17:41")
	maren := d.as("maren")
	form, _ := formIn(maren.opens("/plans/P-01/ask?carton=C-07&mismatch=X-02"), "propose")
	field := ""
	for name := range form {
		if form.Get(name) == "C-07|PLU|quill" {
			field = strings.Replace(name, "line", "delta", 1)
		}
	}
	status, body := maren.sends("/plans/P-01/ask?carton=C-07&mismatch=X-02", "propose", url.Values{field: {"−1"}, "reason": {"one plush is gone"}})
	if status != http.StatusOK {
		t.Fatalf("%d %s", status, body)
	}
	maren.opens("/change/PC-02", "Ship 1 piece fewer?", "One plush is gone.", "for X-02")
	for _, more := range []url.Values{{"reason": {"nothing"}}, {field: {"one"}, "reason": {"x"}}, {field: {"1"}}} {
		if status, body = maren.sends("/plans/P-01/ask?carton=C-07", "propose", more); status != http.StatusBadRequest {
			t.Errorf("%v: %d %s", more, status, body)
		}
	}
}

// file posts a plan's file as a browser would.
func (x *person) file(name, content string, fields url.Values) (int, string) {
	x.d.t.Helper()
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	for k := range fields {
		if err := m.WriteField(k, fields.Get(k)); err != nil {
			x.d.t.Fatal(err)
		}
	}
	if name != "" {
		w, err := m.CreateFormFile("file", name)
		if err != nil {
			x.d.t.Fatal(err)
		}
		_, _ = w.Write([]byte(content)) // a buffer takes all
	}
	if err := m.Close(); err != nil {
		x.d.t.Fatal(err)
	}
	r := httptest.NewRequest(http.MethodPost, "/plans/import", &b)
	r.Header.Set("Content-Type", m.FormDataContentType())
	return x.ask(r)
}

// TestPlanImport: a file is shown line by line beside the plan, and what is
// confirmed is what was seen.
func TestPlanImport(t *testing.T) {
	d := playDesk(t, "17:41")
	odile, maren := d.as("odile"), d.as("maren")
	for _, c := range []struct {
		name, file string
		fields     url.Values
		status     int
		says       []string
	}{
		{"a new plan", "carton;item;q\n0015;MG3;4\n0016;PUZ;2\n", url.Values{"plan": {"P-02"}, "owner": {"house"}}, 200, []string{"plan P-02 is new", "0015", "0016", "Release plan P-02", "Moss Golem figure no. 3"}},
		{"beside a plan", "carton,item,q,owner\nC-07,PUZ,15,quill\nC-07,PLU,5,quill\n", url.Values{"plan": {"P-01"}}, 200, []string{"beside plan P-01 r2", "Sealed already:", "C-01", "Ask for these changes"}},
		{"an unknown item", "carton,item,q,owner\nC-70,XXX,15,house\n", url.Values{"plan": {"P-03"}}, 200, []string{"Not in the catalogue:", "XXX"}},
		{"a warning", "carton,item,q,owner\nC-70,8.5\" bag,1,house\n", url.Values{"plan": {"P-03"}}, 200, []string{"plan.csv:2:6", "was kept as it stands"}},
		{"a cut code", "carton,item,q,owner\nC-70,1.23457E+11,1,house\n", url.Values{"plan": {"P-03"}}, 400, []string{"plan.csv:2:6", "the spreadsheet has cut its digits", "Nothing was kept"}},
		{"no heading", "a,b\n1,2\n", url.Values{"plan": {"P-03"}}, 400, []string{"plan.csv:1:1", "no heading known here"}},
		{"no plan", "carton,item,q,owner\nC-70,MG3,1,house\n", nil, 400, []string{"the plan has no number"}},
	} {
		status, body := odile.file("plan.csv", c.file, c.fields)
		if status != c.status {
			t.Errorf("%s: %d %s", c.name, status, body)
		}
		for _, s := range c.says {
			if !strings.Contains(body, s) {
				t.Errorf("%s: the page does not say %q", c.name, s)
			}
		}
	}
	if status, body := odile.file("", "", url.Values{"plan": {"P-02"}}); status != 400 || !strings.Contains(body, "there is no file") {
		t.Errorf("no file: %d", status)
	}
	_, body := maren.file("plan.csv", "carton;item;q\n0015;MG3;4\n", url.Values{"plan": {"P-02"}, "owner": {"house"}})
	if !strings.Contains(body, "Only the owner releases a plan.") || strings.Contains(body, "Release plan") {
		t.Error("a supervisor is offered to release a plan")
	}
	_, body = odile.file("plan.csv", "carton;item;q\n0015;MG3;4\n", url.Values{"plan": {"P-02"}, "owner": {"house"}})
	form, action := formIn(body, "release")
	form.Set("j.lines", strings.ReplaceAll(form.Get("j.lines"), "&#34;", `"`))
	if status, body := odile.post(action, form); status != http.StatusOK {
		t.Fatalf("%d %s", status, body)
	}
	odile.opens("/plans/P-02", "0015", ">4</b> pieces in r1")
}
