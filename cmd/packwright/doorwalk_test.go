package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"packwright/cmd/packwright/door"
	"packwright/events"
	"packwright/prep"
	"packwright/testdata/demo"
	"packwright/workflow"
)

// mayOpen says who may ask what, written down a second time and by hand: a route
// that is not here fails the walk, and so does one that lets in anybody else.
//
//	s stranger   b a bench, nobody signed in   p packer   l lead   u supervisor
//	o owner   c client   a auditor   h the house: the hub's own machine
var mayOpen = map[string]string{
	"GET /alive":                "sbpluocah",
	"POST /do":                  "h",
	"GET /health":               "uoah",
	"GET /routes":               "uoah",
	"POST /pins":                "h",
	"POST /scan/{station}":      "h",
	"POST /join/code/{station}": "h",

	"GET /head": "uoah", "GET /floor": "uoah", "GET /frames": "uoah", "GET /state": "uoah",
	"GET /rules/explain/{item}": "pluoah", "GET /items/{item}": "pluoah",
	"GET /board": "uoah", "GET /why/{of}": "uoah", "GET /options/{of}": "uoah", "GET /where/{of}": "uoah", "GET /contents/{carton}": "uoah", "GET /day-sheet": "uoah",
	"GET /trace/{mark}": "uoah", "GET /trace": "uoah", "GET /siblings/{of}": "uoah",
	"GET /claims": "uoah", "GET /claim/{claim}": "uoah", "GET /claim/{claim}/statement": "uoah", "GET /claim/{claim}/trace": "uoah", "POST /claim/{claim}/evidence": "uoh",
	"GET /replay": "uoah", "GET /irregular": "uoah", "GET /sample": "uoah", "GET /reconcile": "uoah", "GET /weights": "uoah", "GET /supplies": "uoah",
	"GET /plan": "uoah", "GET /plan/diff": "uoah",

	"GET /static/{file}": "sbpluocah",
	"GET /sign-in":       "sbpluocah", "POST /sign-in": "sbpluocah",
	"GET /join": "sbpluocah", "POST /join": "sbpluocah",
	"POST /sign-out": "pluocah",
	"GET /pin":       "pluoca", "POST /pin": "pluoca",
	"GET /bench": "bpluo", "GET /bench/state": "bpluo", "POST /bench/scan": "bpluo", "POST /bench/sign-in": "bpluo", "POST /bench/again": "bpluo",

	"GET /{$}": "bpluocah", "GET /day": "uoah", "GET /day/board": "uoah", "GET /day/steps": "uoah", "GET /live": "uocah",
	"GET /story": "uocah",
	"GET /wrong": "uoah", "GET /wrong/{of}": "uoah",
	"GET /plans": "uocah", "GET /plans/{plan}": "uocah", "GET /change/{proposal}": "uocah",
	"GET /plans/{plan}/ask": "uoc", "POST /plans/{plan}/ask": "uoc",
	"GET /plans/import": "uo", "POST /plans/import": "uo",
	"GET /claimed": "uoah", "GET /claimed/{claim}": "uoah", "GET /claimed/{claim}/statement": "uoah", "POST /claimed/{claim}/trace": "uo",
	"GET /odd": "uoah", "GET /people": "uo", "POST /people/pin": "uo",
	"POST /join/code": "uo", "POST /act": "luoch",

	"GET /print": "pluo", "POST /print/run/{run}": "pluo", "POST /print/run/{run}/labels": "pluo", "POST /print/carton/{carton}": "pluo",
	"GET /print/contents/{carton}": "pluo", "POST /print/contents/{carton}": "pluo",
	"GET /print/badge/{badge}": "uo", "POST /print/badge/{badge}": "uo",
	"GET /print/codes": "pluo", "POST /print/codes": "pluo",
	"GET /print/cards": "pluo", "POST /print/cards": "pluo",
	"GET /print/test": "pluo", "POST /print/test": "pluo",
}

// fills are real names for the blanks of a pattern.
var fills = strings.NewReplacer("{$}", "", "{file}", "tokens.css", "{of}", "X-02", "{plan}", "P-01", "{proposal}", "PC-01", "{claim}", "CL-01",
	"{item}", "MG3", "{mark}", "M-0019", "{carton}", "C-07", "{station}", "ST-1", "{lot}", "L-02", "{badge}", "ife", "{day}", "2031-03-04", "{run}", "R-07")

// walked is the demo's floor at a moment with its whole HTTP door.
type walked struct {
	*demoFloor
	t   *testing.T
	web *door.Web
	h   http.Handler
	n   int
}

func openWalked(t *testing.T, until string) *walked {
	t.Helper()
	s := &streams{strings.NewReader(""), io.Discard, t.Output()}
	d := newDesk(t.Context(), s, &settings{Log: "error"})
	f, err := openDemo(d, t.TempDir(), "")
	must(t, err)
	t.Cleanup(func() { _ = f.Close() })
	day, err := (&demoCommand{Until: until}).cut(demo.Day())
	must(t, err)
	must(t, f.play(d, day))
	web, err := f.openWeb(lit{f.signing(zerolog.Nop()), f.light}, f.light, f.now, "", zerolog.Nop())
	must(t, err)
	x := &walked{demoFloor: f, t: t, web: web, h: web.Handler()}
	for badge, role := range map[string]events.Role{"lena": events.Lead, "arno": events.Auditor, "sven": events.Supervisor} {
		x.give("enrol-badge", fmt.Sprintf(`{"badge":%q,"roles":[%q]}`, badge, role))
	}
	return x
}

// give has the owner give one command.
func (x *walked) give(kind, body string) {
	x.t.Helper()
	x.n++
	a := x.web.Floor.Ask(x.t.Context(), workflow.Command{ID: fmt.Sprintf("PHONE-1/walk/%d", x.n), Type: kind, Badge: "odile", Basis: events.Keyed, Data: []byte(body)})
	must(x.t, a.Err())
}

// walkers are one of each who may come to the door. The keys are the letters of mayOpen.
func (x *walked) walkers() map[byte]func(*http.Request) {
	badge := func(name, station string) func(*http.Request) {
		return func(r *http.Request) {
			key, err := x.entry.Begin(name, station, false)
			must(x.t, err)
			r.AddCookie(&http.Cookie{Name: "packwright-badge", Value: key})
		}
	}
	digits, _, err := x.entry.Code("ST-2")
	must(x.t, err)
	bench, _, err := x.entry.Join(digits)
	must(x.t, err)
	return map[byte]func(*http.Request){
		's': func(*http.Request) {},
		'b': func(r *http.Request) { r.AddCookie(&http.Cookie{Name: "packwright-bench", Value: bench}) },
		'p': badge("tobi", "ST-1"), 'l': badge("lena", "BOARD"), 'u': badge("sven", "BOARD"), 'o': badge("odile", "PHONE-1"),
		'c': badge("quill", "PHONE-2"), 'a': badge("arno", "BOARD"),
		'h': func(r *http.Request) { r.SetBasicAuth("house", x.entry.House()) },
	}
}

// ask sends one request as somebody and gives status, body and headers.
func (x *walked) ask(method, path, body string, who func(*http.Request), head ...string) *httptest.ResponseRecorder {
	x.t.Helper()
	ctx, cancel := context.WithTimeout(x.t.Context(), 5*time.Second)
	if strings.HasPrefix(path, "/live") {
		ctx, cancel = context.WithTimeout(x.t.Context(), 300*time.Millisecond) // it streams
	}
	defer cancel()
	r := httptest.NewRequestWithContext(ctx, method, path, strings.NewReader(body))
	r.Host = "127.0.0.1:8420"
	x.n++
	r.RemoteAddr = fmt.Sprintf("10.1.%d.%d:4000", x.n/250%250, x.n%250) // one address would soon be asked to wait
	if body != "" {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	who(r)
	for i := 0; i+1 < len(head); i += 2 {
		if head[i] == "Host" {
			r.Host = head[i+1]
		}
		r.Header.Set(head[i], head[i+1])
	}
	w := httptest.NewRecorder()
	w.Body = &bytes.Buffer{}
	x.h.ServeHTTP(w, r)
	return w
}

// kept out says whether the door itself turned somebody away, before the route was asked.
func keptOut(w *httptest.ResponseRecorder) bool {
	return (w.Code == http.StatusUnauthorized || w.Code == http.StatusForbidden) &&
		(strings.Contains(w.Body.String(), "Nobody is signed in.") || strings.Contains(w.Body.String(), "Not for this badge."))
}

// TestDoorWalk: every route × everybody, against the table above.
func TestDoorWalk(t *testing.T) {
	x := openWalked(t, "17:41")
	who := x.walkers()
	asked := 0
	seen := map[string]bool{}
	for _, r := range x.web.All() {
		seen[r.Pattern] = true
		may, ok := mayOpen[r.Pattern]
		if !ok {
			t.Errorf("%s (%s) is not in the table of who may", r.Pattern, r.About)
			continue
		}
		method, path, _ := strings.Cut(r.Pattern, " ")
		for letter, as := range who {
			w := x.ask(method, fills.Replace(path), "", as)
			asked++
			if in := !keptOut(w); in != strings.Contains(may, string(letter)) {
				t.Errorf("%c %s: let in %v, status %d %.120s", letter, r.Pattern, in, w.Code, w.Body)
			}
			if w.Code >= 500 && w.Code != http.StatusServiceUnavailable {
				t.Errorf("%c %s: %d %s", letter, r.Pattern, w.Code, w.Body)
			}
		}
	}
	for pattern := range mayOpen {
		if !seen[pattern] {
			t.Errorf("%s is in the table and not at the door", pattern)
		}
	}
	t.Logf("%d routes, %d requests", len(seen), asked)
}

// TestDoorStrangers: what the door says of what it does not have, and to whom it
// does not listen at all.
func TestDoorStrangers(t *testing.T) {
	x := openWalked(t, "08:10")
	who := x.walkers()
	for letter, as := range who {
		for _, c := range []struct {
			method, path string
			status       int
		}{{"GET", "/etc", 404}, {"GET", "/static/../entry.json", 404}, {"GET", "/wrong/X-01/more", 404}, {"GET", "/entry.json", 404},
			{"DELETE", "/sign-in", 405}, {"PUT", "/wrong", 405}, {"GET", "/act", 405}, {"GET", "/do", 405}} {
			if w := x.ask(c.method, c.path, "", as); w.Code != c.status && w.Code != http.StatusMovedPermanently && w.Code != http.StatusTemporaryRedirect {
				t.Errorf("%c %s %s: %d %.100s", letter, c.method, c.path, w.Code, w.Body)
			}
		}
	}
	for _, r := range x.web.All() {
		method, path, _ := strings.Cut(r.Pattern, " ")
		path = fills.Replace(path)
		for letter, as := range who {
			if w := x.ask(method, path, "", as, "Host", "elsewhere.example"); w.Code != http.StatusMisdirectedRequest {
				t.Errorf("%c %s by another name: %d", letter, r.Pattern, w.Code)
			}
			if method == http.MethodGet {
				continue
			}
			for _, head := range [][]string{{"Sec-Fetch-Site", "cross-site"}, {"Sec-Fetch-Site", "same-site"}, {"Origin", "http://elsewhere.example"}, {"Origin", "null"}} {
				if w := x.ask(method, path, "id=1", as, head...); w.Code != http.StatusForbidden || keptOut(w) {
					t.Errorf("%c %s from another site (%s): %d %.80s", letter, r.Pattern, head[1], w.Code, w.Body)
				}
			}
		}
	}
}

// TestDoorCookies: a session is out of reach of scripts and of other sites; a
// PIN guessed at locks the badge; a badge that is retired is out at once.
func TestDoorCookies(t *testing.T) {
	x := openWalked(t, "17:41")
	must(t, x.entry.SetPIN("arno", "2580", false))
	nobody := func(*http.Request) {}
	w := x.ask("POST", "/sign-in", "badge=arno&pin=2580", nobody)
	set := w.Result().Cookies()
	if w.Code != http.StatusSeeOther || len(set) != 1 {
		t.Fatalf("%d %s", w.Code, w.Body)
	}
	if c := set[0]; !c.HttpOnly || c.SameSite != http.SameSiteStrictMode || c.Path != "/" || c.Domain != "" || len(c.Value) < 22 {
		t.Errorf("the session's cookie: %+v", c)
	}
	as := func(r *http.Request) { r.AddCookie(set[0]) }
	if w = x.ask("GET", "/wrong", "", as); w.Code != http.StatusOK {
		t.Errorf("signed in: %d", w.Code)
	}
	if w = x.ask("GET", "/wrong", "", nobody, "Accept", "text/html"); w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/sign-in" {
		t.Errorf("signed out: %d to %q", w.Code, w.Header().Get("Location"))
	}
	for _, cookie := range []string{"", "x", set[0].Value + "x", set[0].Value[1:]} {
		if w = x.ask("GET", "/wrong", "", func(r *http.Request) { r.AddCookie(&http.Cookie{Name: "packwright-badge", Value: cookie}) }); w.Code != http.StatusUnauthorized {
			t.Errorf("cookie %q: %d", cookie, w.Code)
		}
	}
	x.signOutAndRetire("arno")
	if w = x.ask("GET", "/wrong", "", as); w.Code != http.StatusUnauthorized {
		t.Errorf("a retired badge: %d", w.Code)
	}
	if w = x.ask("POST", "/sign-in", "badge=arno&pin=2580", nobody); w.Code != http.StatusUnauthorized {
		t.Errorf("a retired badge signs in: %d %s", w.Code, w.Body)
	}
	must(t, x.entry.SetPIN("tobi", "2580", false))
	for i := range 5 {
		if w = x.ask("POST", "/sign-in", "badge=tobi&pin=1111", nobody); w.Code != http.StatusUnauthorized {
			t.Errorf("guess %d: %d", i+1, w.Code)
		}
	}
	if w = x.ask("POST", "/sign-in", "badge=tobi&pin=2580", nobody); w.Code != http.StatusUnauthorized || !strings.Contains(w.Body.String(), "locked until") {
		t.Errorf("the right PIN after five guesses: %d %s", w.Code, w.Body)
	}
	for _, badge := range []string{"nobody", ""} {
		if w = x.ask("POST", "/sign-in", "badge="+badge+"&pin=2580", nobody); w.Code != http.StatusUnauthorized || !strings.Contains(w.Body.String(), "Badge and PIN do not fit.") {
			t.Errorf("badge %q: %d; the door tells who is enrolled", badge, w.Code)
		}
	}
}

// signOutAndRetire ends a badge on the floor; its session's cookie stays.
func (x *walked) signOutAndRetire(badge string) {
	x.t.Helper()
	x.give("sign-out", fmt.Sprintf(`{"badge":%q}`, badge))
	x.give("retire-badge", fmt.Sprintf(`{"badge":%q,"reason":"has left"}`, badge))
}

// named finds lots, marks, cartons and items in what a page says.
var named4 = regexp.MustCompile(`\b(L-\d\d|M-\d{4}|C-\d\d|R-\d\d)\b`)

// TestDoorClient: in nothing that a client can reach stands a lot, mark, carton
// or run that is not its own.
func TestDoorClient(t *testing.T) {
	x := openWalked(t, "17:41")
	as := x.walkers()['c']
	own := x.ownedBy("quill")
	read := 0
	for _, r := range x.web.All() {
		method, path, _ := strings.Cut(r.Pattern, " ")
		if r.May&door.Client == 0 || method != http.MethodGet || strings.HasPrefix(path, "/static") {
			continue
		}
		for _, p := range x.everyFill(path) {
			w := x.ask(method, p, "", as)
			read++
			for _, name := range named4.FindAllString(w.Body.String(), -1) {
				if !own[name] && !strings.Contains(p, name) {
					t.Errorf("%s (%d) shows a client %s", p, w.Code, name)
				}
			}
			if strings.Contains(w.Body.String(), "house") && !strings.Contains(p, "house") {
				t.Errorf("%s shows a client whose the other goods are", p)
			}
		}
	}
	if read < 20 {
		t.Errorf("only %d pages were read", read)
	}
}

// ownedBy lists what is one owner's: lots, their marks and runs, their cartons.
func (x *walked) ownedBy(owner string) map[string]bool {
	own := map[string]bool{}
	must(x.t, (&auditor{log: x.log, reader: x.books.Follower, now: x.now}).look(x.t.Context(), "", func(v view) error {
		for _, b := range v.Balances() {
			own[b.Lot] = b.Owner == owner
		}
		for _, c := range v.Cartons() {
			for _, l := range c.Lines {
				own[c.Carton] = l.Owner == owner
			}
		}
		for m := prep.Mark(1); m < 80; m++ {
			if t, err := v.TraceMark(m); err == nil && len(t.Units) == 1 {
				own[m.String()] = t.Units[0].Owner == owner
			}
		}
		return nil
	}))
	must(x.t, x.log.Scan(x.t.Context(), 1, func(_ uint64, frame []byte) error {
		_, lines, err := events.SplitFrame(frame)
		for _, line := range lines {
			e, err := events.Decode(line)
			must(x.t, err)
			if d, ok := e.Data.(*events.RunOpened); ok {
				own[d.Run] = own[d.Lot]
			}
		}
		return err
	}))
	return own
}

// everyFill fills a pattern's blanks with every name there is of that kind, and
// leaves topics of the live stream to its own test.
func (x *walked) everyFill(path string) []string {
	switch {
	case strings.HasPrefix(path, "/live"):
		return []string{"/live?topic=board", "/live?topic=wrong", "/live?topic=" + url.QueryEscape("wrong/X-02")}
	case path == "/story":
		var out []string
		for _, code := range []string{"", "M-0019", "M-0042", "M-0023", "C-07", "C-02", "C-08", "C-14", "L-02", "L-07", "L-12", "R-07", "R-01", "R-02", "R-03", "R-04", "R-05", "LD-1", "T-01", "BW-18", "PUZ", "MG3"} {
			out = append(out, "/story?code="+code)
		}
		return append(out, "/story?code=C-10&item=DSC", "/story?code=C-14&item=BND")
	case !strings.Contains(path, "{") || strings.Contains(path, "{$}"):
		return []string{fills.Replace(path), fills.Replace(path) + "?at=11:45"}
	}
	var out []string
	for _, name := range []string{"P-01", "PC-01", "M-0019", "M-0042", "C-07", "C-02", "L-02", "L-07", "R-07", "X-02", "CL-01", "quill", "house", "PUZ", "MG3"} {
		out = append(out, regexp.MustCompile(`\{[^}]*\}`).ReplaceAllString(path, name))
	}
	return append(out, strings.ReplaceAll(fills.Replace(path)+"?from=1&to=1", "%", ""), fills.Replace(path)+"?carton=C-02")
}
