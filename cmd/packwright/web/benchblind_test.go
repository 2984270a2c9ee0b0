package web_test

import (
	"encoding/json"
	"fmt"
	"maps"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"

	"packwright/cmd/packwright/door"
	"packwright/cmd/packwright/web"
	"packwright/cmd/packwright/web/webtest"
	"packwright/workflow"
)

// What is to be kept from the bench that counts C-07: planned 15 and 6, scanned 15
// and 6, together 21; expected 12130 g, first reading 11827 g, residual −303 g.
var secrets = []string{"12130", "12 130", "12.13", "11827", "11 827", "11.827", "303", "32.7"}

var (
	tag      = regexp.MustCompile(`<[^>]*>`)
	attr     = regexp.MustCompile(`([a-zA-Z-]+)="([^"]*)"`)
	geometry = []string{"d", "viewBox", "width", "height", "x", "y", "x1", "x2", "y1", "y2", "cx", "cy", "r", "transform", "patternTransform", "pattern", "maxlength", "stroke-width", "stroke-dasharray",
		"charset", "content", "href", "src", "data-hub", "data-ready"}
	ownCode = regexp.MustCompile(`\b[A-Z]{1,3}-[A-Za-z0-9-]*[0-9](\.[0-9A-Z*])?|![A-Z-]+\.[0-9A-Z*]`)
	digit   = regexp.MustCompile(`[0-9]`)
)

// tells says what a blind bench was sent that it must not know; typed are the
// digits that the counter gave.
func tells(body, typed string) string {
	for _, s := range secrets {
		if strings.Contains(body, s) {
			return "it holds " + s
		}
	}
	plain := func(s string) string {
		s = ownCode.ReplaceAllString(s, "")
		if typed != "" {
			s = strings.ReplaceAll(s, typed, "")
		}
		return s
	}
	for _, m := range attr.FindAllStringSubmatch(body, -1) {
		if !slices.Contains(geometry, m[1]) && digit.MatchString(plain(m[2])) {
			return "an attribute says " + m[0]
		}
	}
	text := plain(tag.ReplaceAllString(strings.TrimPrefix(body, "404 page not found"), " "))
	if i := digit.FindStringIndex(text); i != nil {
		return "it says " + strings.Join(strings.Fields(text[max(i[0]-40, 0):min(i[0]+40, len(text))]), " ")
	}
	return ""
}

// jsonTells walks every value of a JSON answer.
func jsonTells(t *testing.T, body, typed string) string {
	t.Helper()
	var v any
	if err := json.Unmarshal([]byte(body), &v); err != nil {
		return tells(body, typed)
	}
	return valueTells(v, "", typed)
}

func valueTells(v any, at, typed string) string {
	switch v := v.(type) {
	case float64:
		return fmt.Sprintf("%s is %v", at, v)
	case string:
		if at == ".hub" || at == ".state.hub" || strings.HasSuffix(at, ".code") && strings.HasPrefix(v, "E-") {
			return ""
		}
		if why := tells(v, typed); why != "" {
			return at + ": " + why
		}
	case []any:
		for i, x := range v {
			if why := valueTells(x, fmt.Sprintf("%s[%d]", at, i), typed); why != "" {
				return why
			}
		}
	case map[string]any:
		for _, k := range slices.Sorted(maps.Keys(v)) {
			if why := valueTells(v[k], at+"."+k, typed); why != "" {
				return why
			}
		}
	}
	return ""
}

// headersTell looks through what came before the body.
func headersTell(a webtest.Answer) string {
	for k, vs := range a.Header {
		for _, v := range vs {
			if k == "Date" || k == "Content-Type" || k == "Content-Length" || k == "Set-Cookie" || strings.HasPrefix(k, "Content-Security") {
				continue
			}
			if why := tells(v, ""); why != "" {
				return k + ": " + why
			}
		}
	}
	return ""
}

// blindWalk is a bench that counts, and all that it was sent so far.
type blindWalk struct {
	*webtest.Client
	t      *testing.T
	routes []door.Route
}

// look asks for everything the bench can ask for: what is shut is 423, and what is
// open tells nothing.
func (x *blindWalk) look(where, typed string) {
	x.t.Helper()
	for _, page := range []struct{ path, accept string }{{"/bench", "text/html"}, {"/bench/state", "application/json"}, {"/nowhere", "text/html"}, {"/join", "text/html"}, {"/pin", "text/html"}} {
		a := x.Do(x.t, http.MethodGet, page.path, page.accept, "", "")
		x.check(where+", GET "+page.path, a, typed)
		if strings.HasPrefix(page.path, "/bench") && (a.Status != http.StatusOK || !strings.Contains(a.Body, "count")) {
			x.t.Errorf("%s: GET %s is answered %d", where, page.path, a.Status)
		}
	}
}

func (x *blindWalk) check(what string, a webtest.Answer, typed string) {
	x.t.Helper()
	why := headersTell(a)
	if why == "" && strings.HasPrefix(a.Header.Get("Content-Type"), "application/json") {
		why = jsonTells(x.t, a.Body, typed)
	} else if why == "" && !strings.HasPrefix(a.Header.Get("Content-Type"), "text/css") && !strings.HasPrefix(a.Header.Get("Content-Type"), "text/javascript") {
		why = tells(a.Body, typed)
	}
	if why != "" {
		x.t.Errorf("%s: a blind bench is told: %s", what, why)
	}
}

// shut asks every route there is that is not open to a blind bench.
func (x *blindWalk) shut(where string) {
	x.t.Helper()
	asked := 0
	for _, r := range x.routes {
		method, path, _ := strings.Cut(r.Pattern, " ")
		if r.Blind || strings.HasPrefix(path, "/static/") {
			continue
		}
		path = regexp.MustCompile(`\{[^}]*\}`).ReplaceAllString(strings.ReplaceAll(path, "{$}", ""), "C-07")
		a := x.Do(x.t, method, path+"?topic=board&of=C-07", "application/json", "application/json", "{}")
		asked++
		if a.Status != http.StatusLocked && a.Status != http.StatusForbidden && a.Status != http.StatusUnauthorized {
			x.t.Errorf("%s: %s is answered %d to a bench that counts: %.200s", where, r.Pattern, a.Status, a.Body)
		}
		x.check(where+", "+r.Pattern, a, "")
	}
	if asked < 25 {
		x.t.Fatalf("only %d routes were asked", asked)
	}
}

// allRoutes gives the pages and what the hub tells of itself.
func allRoutes(t *testing.T, hub *webtest.Hub) []door.Route {
	t.Helper()
	routes := (&web.Pages{}).Routes()
	var more []struct{ Pattern string }
	if err := json.Unmarshal([]byte(hub.Ask(t, http.MethodGet, "/routes", "")), &more); err != nil {
		t.Fatal(err)
	}
	for _, r := range more {
		if !strings.Contains(r.Pattern, "/rules/explain") && !strings.Contains(r.Pattern, "/alive") {
			routes = append(routes, door.Route{Pattern: r.Pattern})
		}
	}
	return routes
}

// A bench that counts is told no number, whatever it asks and whatever is scanned
// there: in the page, the state, the answer to a scan, a header, a shut door, or a
// page that is not there. From FINISH CARTON until the count is in.
func TestABenchThatCountsIsToldNothing(t *testing.T) {
	hub := webtest.Demo(t, "--until", "17:29:20")
	x := &blindWalk{Client: hub.Client(t, "ST-3", "sunniva"), t: t, routes: allRoutes(t, hub)}
	x.Scan(t, "C-07")
	if a := x.Get(t, "/bench"); tells(a.Body, "") == "" || !strings.Contains(a.Body, "21") {
		t.Fatal("before FINISH CARTON the tally is to be seen, or this test sees nothing")
	}
	scan := func(raw, typed string) webtest.Answer {
		t.Helper()
		a := x.Scan(t, raw)
		x.check("scan "+raw, a, typed)
		x.look("after "+raw, typed)
		return a
	}
	scan("!FINISH-CARTON", "")
	x.shut("finished")
	for _, raw := range []string{"C-07", "C-08", "C-05", "T-01", "T-21", "T-25", "PUZ", "PLU", "GLD", "M-0001", "X-01", "X-02", "B-sunniva", "B-ife", "L-04", "R-01", "LD-1", "ST-2", "A-ST-3", "BW-18", "000415", "9520000010041", "N-13"} {
		scan(raw, "")
	}
	for _, c := range workflow.Cards {
		if !slices.Contains([]string{"FINISH-CARTON", "TAKE-BACK", "SIGN-OUT", "ENTER"}, c.Word) {
			scan("!"+c.Word, "")
		}
	}
	scan("!CANCEL", "")
	scan("C-07", "")
	scan("8", "8")
	scan("!CANCEL", "")
	if a := scan("19", "19"); !strings.Contains(a.Body, "So far 19.") {
		t.Errorf("the counter's own digits are not shown: %s", a.Body)
	}
	if a := scan("!ENTER", ""); !strings.Contains(a.Body, "E-CNT-01") {
		t.Fatalf("a wrong count is answered %s", a.Body)
	}
	x.shut("counted wrongly")
	scan("11827 g", "")
	scan("!ENTER", "")
	x.Form(t, "/sign-out", url.Values{})
	a := x.Get(t, "/bench")
	x.check("signed out, GET /bench", a, "")
}

// A bench that is brought another bench's carton to count is as blind as that one;
// and so is a supervisor who signs in there.
func TestABenchThatCountsForAnotherIsToldNothing(t *testing.T) {
	hub := webtest.Demo(t, "--until", "17:29:20")
	own := hub.Client(t, "ST-3", "sunniva")
	own.Scan(t, "C-07")
	x := &blindWalk{Client: hub.Client(t, "ST-1", "tobi"), t: t, routes: allRoutes(t, hub)}
	if a := x.Do(t, http.MethodGet, "/items/PUZ", "application/json", "", ""); a.Status != http.StatusOK {
		t.Fatalf("before it counts the bench may ask: %d %s", a.Status, a.Body)
	}
	own.Scan(t, "!FINISH-CARTON")
	if a := x.Scan(t, "C-07"); !strings.Contains(a.Body, "Count what is in C-07.") {
		t.Fatalf("a carton brought here to be counted: %s", a.Body)
	}
	x.look("brought here", "")
	x.shut("brought here")
	for _, raw := range []string{"T-21", "PUZ", "15", "!ENTER", "PLU"} {
		typed := ""
		if raw == "15" {
			typed = raw
		}
		x.check("scan "+raw, x.Scan(t, raw), typed)
		x.look("after "+raw, typed)
	}
	x.Scan(t, "6")
	x.Scan(t, "!ENTER")
	if a := x.Scan(t, "!enter"); !strings.Contains(a.Body, "weigh") {
		t.Errorf("the right count is answered %s", a.Body)
	}
	x.look("counted, not weighed", "")
	for _, command := range []string{
		`{"id":"ST-1/blind/1","type":"sign-out","badge":"tobi"}`,
		`{"id":"BOARD/blind/1","type":"sign-out","badge":"maren"}`,
	} {
		hub.Do(t, command)
	}
	if a := x.Form(t, "/sign-in", url.Values{"badge": {"maren"}, "pin": {webtest.PIN}}); a.Status >= 400 {
		t.Fatalf("the supervisor at the bench: %d %s", a.Status, a.Body)
	}
	x.shut("a supervisor at the bench")
	x.look("a supervisor at the bench", "")
}
