package web

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"
)

var freshDigits = regexp.MustCompile(`<p class="word">(\d{6})</p>`)

// TestPeople: a badge is enrolled, gets a PIN that it must change, and is retired.
func TestPeople(t *testing.T) {
	d := playDesk(t, "17:41")
	odile, maren := d.as("odile"), d.as("maren")
	odile.opens("/people", "supervisor", "client for quill", "ST-3")
	if status, body := odile.sends("/people", "enrol-badge", url.Values{"s.badge": {"nils"}, "s.roles.0": {"packer"}, "s.roles.4": {"auditor"}}); status != http.StatusOK {
		t.Fatalf("%d %s", status, body)
	}
	odile.opens("/people", "nils", "packer, auditor")
	status, body := odile.post("/people/pin", url.Values{"badge": {"nils"}})
	digits := freshDigits.FindStringSubmatch(body)
	if status != http.StatusOK || digits == nil {
		t.Fatalf("no PIN: %d %s", status, body)
	}
	if strings.Contains(odile.opens("/people"), digits[1]) {
		t.Error("the PIN is shown twice")
	}
	r := httptest.NewRequest(http.MethodPost, "/sign-in", strings.NewReader(url.Values{"badge": {"nils"}, "pin": {digits[1]}}.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Host = "127.0.0.1"
	w := httptest.NewRecorder()
	d.web.ServeHTTP(w, r)
	if w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/pin" {
		t.Errorf("signing in with it: %d to %q", w.Code, w.Header().Get("Location"))
	}
	for _, badge := range []string{"odile", "nobody"} {
		if status, _ = maren.post("/people/pin", url.Values{"badge": {badge}}); status < 400 {
			t.Errorf("a supervisor gives %s a PIN: %d", badge, status)
		}
	}
	if status, body = odile.sends("/people", "enrol-badge", url.Values{"s.badge": {"lux"}, "s.roles.0": {"packer"}}); status != http.StatusOK {
		t.Fatalf("%d %s", status, body)
	}
	page := odile.opens("/people")
	at := strings.Index(page, `value="lux"><input name="s.reason"`)
	form, action := formIn(page[strings.LastIndex(page[:at], "<form"):], "retire-badge")
	form.Set("s.reason", "has left")
	if status, body = odile.post(action, form); status != http.StatusOK {
		t.Errorf("retired: %d %s", status, body)
	}
	odile.opens("/people", "retired")
	if status, _ = d.as("ife").get("/people"); status != http.StatusForbidden {
		t.Errorf("a packer sees the badges: %d", status)
	}
}

// TestOdd: what was let pass, told late and refused stands on one page.
func TestOdd(t *testing.T) {
	d := playDesk(t, "")
	d.as("odile").opens("/odd", "1 override, 1 testimony, 1 offline", "Gates let pass", "Told later, on somebody’s word", "Benches away", "E-CAR-04", "Counted by who packed")
}
