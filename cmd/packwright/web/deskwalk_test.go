package web_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"packwright/cmd/packwright/web/webtest"
)

// press clicks the button of the form for a kind of command, after filling in
// fields by name, as somebody at a desk does.
func press(t *testing.T, tab *webtest.Tab, kind string, fields map[string]string, button string) {
	t.Helper()
	in := fmt.Sprintf(`form:has(input[name="type"][value="%s"])`, kind)
	for name, text := range fields {
		tab.Do(t, chromedp.SetValue(fmt.Sprintf(`%s [name="%s"]`, in, name), text))
	}
	tab.Do(t, chromedp.Click(in+" "+button))
	tab.Until(t, `document.querySelector(".outcome .word") && document.querySelector(".outcome .say")`)
}

// said is the answer on the page after a form, and goes on from there.
func said(t *testing.T, tab *webtest.Tab) string {
	t.Helper()
	text := strings.Join(strings.Fields(tab.Text(t, ".outcome")), " ")
	tab.Do(t, chromedp.Click(".act"))
	tab.Until(t, `document.querySelector(".head h1, .phone h1")`)
	return text
}

// line is one command of somebody at a bench, for the house to pass on.
func line(n int, station, badge, kind, matter, data string) string {
	more := ""
	if matter != "" {
		more = fmt.Sprintf(`,"mismatch":%q`, matter)
	}
	return fmt.Sprintf(`{"id":"%s/walk/%d","type":%q,"badge":%q%s,"data":%s}`, station, n, kind, badge, more, data)
}

// TestTheShortCarton: C-07 is settled from the desk while two benches go on. The
// page follows what the benches do, nothing closes before another person has
// counted, and the log then says who did what.
func TestTheShortCarton(t *testing.T) {
	b := webtest.Open(t)
	hub := webtest.Demo(t, "--until", "17:41")
	maren, odile := b.Tab(t, hub), b.Tab(t, hub)
	maren.SignIn(t, "maren")
	odile.SignIn(t, "odile")
	maren.Size(t, 1280, 800)
	maren.Go(t, "/wrong")
	maren.Do(t, chromedp.Click(".matters a"))
	maren.Until(t, `document.querySelector(".head h1")?.textContent.includes("C-07 is short")`)
	odile.Go(t, "/wrong/X-02")
	if text := odile.Text(t, ".taken"); !strings.Contains(text, "Already being handled: maren has it since 17:41") {
		t.Errorf("a second one reads %q", text)
	}

	press(t, maren, "resolve", map[string]string{"s.resolution": "find-and-add", "s.where_was_it": "rework shelf"}, `button.first`)
	if got := said(t, maren); !strings.Contains(got, "no No second count since it was fixed.") {
		t.Errorf("closed before anybody counted: %s", got)
	}
	press(t, maren, "note", map[string]string{"s.text": "sunniva looks on the rework shelf"}, "button")
	said(t, maren)
	maren.Until(t, `document.getElementById("wrong-case").textContent.includes("rework shelf")`)

	// two benches go on: tobi to help at ST-3, ife at her own
	hub.Do(t, line(1, "ST-1", "tobi", "sign-out", "", "{}"), line(1, "ST-3", "tobi", "sign-in", "", `{"helps":"sunniva"}`))
	hub.Do(t, line(2, "ST-3", "tobi", "enter-count", "X-02", `{"carton":"C-07","lines":[{"item":"PUZ","q":15},{"item":"PLU","q":5}]}`))
	maren.Until(t, `document.getElementById("wrong-case").textContent.includes("tobi")`) // live: the page says who counted
	hub.Do(t,
		`{"id":"ST-3/walk/3","type":"take-out","badge":"sunniva","basis":"testimony","at":"2031-03-04T17:28:54Z","mismatch":"X-02","data":{"carton":"C-07","item":"PLU","lot":"L-07","q":1,"to":"A-ST-3","reason":"bag torn"}}`,
		line(4, "ST-3", "sunniva", "place", "X-02", `{"carton":"C-07","item":"PLU","from":"A-ST-3"}`),
		line(1, "ST-2", "ife", "check-scale", "", `{"scale":"SC-1","ref_g":5000,"read_g":5000}`))
	maren.Go(t, "/wrong/X-02")
	press(t, maren, "fixed", map[string]string{"l.actions": "plush found on the rework shelf\nbagged anew\nplaced in C-07"}, "button")
	if got := said(t, maren); !strings.Contains(got, "kept") {
		t.Errorf("put right: %s", got)
	}
	hub.Do(t, line(5, "ST-3", "sunniva", "finish-carton", "", `{"carton":"C-07"}`),
		line(6, "ST-3", "sunniva", "weigh", "", `{"carton":"C-07","scale":"SC-1","gross_g":12136,"stable":true}`),
		line(7, "ST-3", "tobi", "enter-count", "X-02", `{"carton":"C-07","lines":[{"item":"PUZ","q":15},{"item":"PLU","q":6}]}`),
		line(8, "ST-3", "sunniva", "accept-count", "", `{"carton":"C-07"}`))
	maren.Go(t, "/wrong/X-02")
	maren.Picture(t, "walk-short-before")
	press(t, maren, "resolve", map[string]string{"s.resolution": "find-and-add", "s.where_was_it": "rework shelf"}, `button.first`)
	if got := said(t, maren); !strings.Contains(got, "kept") {
		t.Errorf("settled: %s", got)
	}
	maren.Until(t, `document.body?.textContent.includes("find the piece, place it") && document.body?.textContent.includes("where it was: rework shelf")`)
	maren.Picture(t, "walk-short-settled")
	odile.Until(t, `document.getElementById("wrong-state").textContent.includes("settled")`) // live, for who only looks on
	maren.Go(t, "/wrong")
	if text := maren.Text(t, "#wrong-list"); !strings.Contains(text, "0 open") {
		t.Errorf("what is wrong then: %s", text)
	}
	done := hub.Events(t, "mismatch.resolved")
	if len(done) != 2 || fmt.Sprint(done[1]["data"].(map[string]any)["resolution"]) != "find-and-add" || done[1]["badge"] != "maren" {
		t.Errorf("the log says %v", done)
	}
}

// TestApprovedOnAPhone: one question, two answers at the thumb; a second press,
// and a second telephone, change nothing and say so.
func TestApprovedOnAPhone(t *testing.T) {
	b := webtest.Open(t)
	hub := webtest.Demo(t, "--until", "11:45")
	phone, other, quill := b.Tab(t, hub), b.Tab(t, hub), b.Tab(t, hub)
	for _, x := range []struct {
		tab   *webtest.Tab
		badge string
	}{{phone, "odile"}, {other, "odile"}, {quill, "quill"}} {
		x.tab.SignIn(t, x.badge)
		x.tab.Size(t, 390, 844)
		x.tab.Go(t, "/change/PC-01")
	}
	if text := phone.Text(t, "h1"); text != "Ship 10 pieces fewer?" {
		t.Errorf("the question is %q", text)
	}
	for _, button := range []string{".yes", ".no2"} {
		high := webtest.Eval[float64](t, phone, fmt.Sprintf("document.querySelector(%q).getBoundingClientRect().height", button))
		below := webtest.Eval[float64](t, phone, fmt.Sprintf("innerHeight - document.querySelector(%q).getBoundingClientRect().bottom", button))
		if high < 72 || below < 0 || below > 320 {
			t.Errorf("%s is %v px high and ends %v px above the bottom", button, high, below)
		}
	}
	phone.Picture(t, "walk-phone-question")
	press(t, phone, "approve", nil, ".yes")
	if got := said(t, phone); !strings.Contains(got, "kept") {
		t.Errorf("approved: %s", got)
	}
	phone.Until(t, `document.body?.textContent.includes("Already approved at 11:4")`)
	press(t, other, "approve", nil, ".yes")
	if got := said(t, other); !strings.Contains(got, "already Already answered at 11:4") {
		t.Errorf("from another telephone: %s", got)
	}
	if text := quill.Text(t, "body"); strings.Contains(text, "C-02") || strings.Contains(text, "C-10") || !strings.Contains(text, "Ship 5 pieces fewer?") {
		t.Errorf("the client reads %s", text)
	}
	press(t, quill, "approve", nil, ".yes")
	if got := said(t, quill); !strings.Contains(got, "kept") {
		t.Errorf("the client: %s", got)
	}
	phone.Go(t, "/change/PC-01")
	phone.Picture(t, "walk-phone-done")
	if n := len(hub.Events(t, "plan.amended")); n != 1 {
		t.Errorf("the plan was amended %d times", n)
	}
}

// TestByKeyboardAlone: from signing in to a note on the matter without a pointer;
// what has the focus is always seen.
func TestByKeyboardAlone(t *testing.T) {
	b := webtest.Open(t)
	hub := webtest.Demo(t, "--until", "17:41")
	tab := b.Tab(t, hub)
	tab.Size(t, 1280, 800)
	tab.Go(t, "/sign-in")
	keys := func(list ...string) {
		for _, k := range list {
			tab.Do(t, chromedp.KeyEvent(k))
		}
	}
	typed := func(text string) {
		for _, r := range text {
			keys(string(r))
		}
	}
	typed("maren") // the field has the focus already
	keys("\t")
	typed(webtest.PIN)
	keys("\r")
	tab.Until(t, `location.pathname === "/"`)
	to := func(what, is string) {
		t.Helper()
		for range 80 {
			keys("\t")
			if webtest.Eval[bool](t, tab, is) {
				seen := webtest.Eval[string](t, tab, `(() => { const s = getComputedStyle(document.activeElement); return s.outlineStyle + " " + s.outlineWidth; })()`)
				if !strings.HasPrefix(seen, "solid") && !strings.HasPrefix(seen, "auto") {
					t.Errorf("the focus on %s is not seen: %s", what, seen)
				}
				return
			}
		}
		t.Fatalf("%s is not reached by Tab", what)
	}
	to("what is wrong", `document.activeElement.getAttribute("href") === "/wrong"`)
	keys("\r")
	tab.Until(t, `location.pathname === "/wrong" && document.querySelector(".matters")`)
	to("the matter", `document.activeElement.getAttribute("href") === "/wrong/X-02"`)
	keys("\r")
	tab.Until(t, `location.pathname === "/wrong/X-02" && document.querySelector(".acts")`)
	to("the note", `document.activeElement.name === "s.text" && !!document.activeElement.closest('form:has([value="note"])')`)
	typed("seen by keys")
	keys("\r")
	tab.Until(t, `document.querySelector(".outcome.kept")`)
	to("the way on", `document.activeElement.className === "act"`)
	keys("\r")
	tab.Until(t, `location.pathname === "/wrong/X-02" && document.body?.textContent.includes("seen by keys")`)
}
