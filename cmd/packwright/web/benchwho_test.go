package web_test

import (
	"encoding/json"
	"net/http"
	"strings"
	"testing"
	"time"

	"packwright/cmd/packwright/web/webtest"
	"packwright/workflow"
)

// told is what a bench was answered.
type told struct {
	Said  workflow.Said `json:"said"`
	State struct {
		Badge, Phase, About, Look, Stage string
	} `json:"state"`
}

func toldBy(t *testing.T, a webtest.Answer) (x told) {
	t.Helper()
	if err := json.Unmarshal([]byte(a.Body), &x); err != nil || a.Status != http.StatusOK {
		t.Fatalf("%d %s: %v", a.Status, a.Body, err)
	}
	return x
}

// A badge that is scanned where nobody is signed in is asked for its PIN and signs
// nobody in; nothing else is heard there. Within its session a badge needs none;
// another does, and does not push the first one out.
func TestABadgeProvesItselfOnce(t *testing.T) {
	hub := webtest.Demo(t, "--until", "14:09")
	hub.Do(t, `{"id":"ST-2/who/1","type":"sign-out","badge":"ife"}`)
	before := len(hub.Events(t, "session.started"))
	c := hub.Client(t, "ST-2", "")
	if x := toldBy(t, c.Scan(t, "C-12")); x.Said.Code != "E-SES-01" || x.State.Phase != "who" {
		t.Errorf("a carton where nobody is signed in: %+v", x)
	}
	if x := toldBy(t, c.Scan(t, "B-ife")); x.Said.Badge != "ife" || x.Said.Text != "Hello. Now your PIN." || x.State.Badge != "" {
		t.Errorf("a badge where nobody is signed in: %+v", x)
	}
	if n := len(hub.Events(t, "session.started")); n != before {
		t.Fatalf("a badge's scan alone began a session")
	}
	signIn := func(badge, pin string) told {
		t.Helper()
		return toldBy(t, c.Do(t, http.MethodPost, "/bench/sign-in", "application/json", "application/json", `{"badge":"`+badge+`","pin":"`+pin+`"}`))
	}
	if x := signIn("ife", "1357"); x.Said.Outcome != workflow.No || x.State.Badge != "" {
		t.Errorf("a wrong PIN: %+v", x)
	}
	if x := signIn("ife", webtest.PIN); x.Said.Outcome != workflow.Kept || x.State.Badge != "ife" || x.State.Phase != "free" {
		t.Errorf("the right PIN: %+v", x)
	}
	if x := toldBy(t, c.Scan(t, "B-ife")); x.Said.Badge != "" || !strings.HasPrefix(x.Said.Text, "Hello.") {
		t.Errorf("the same badge again: %+v", x)
	}
	hub.Do(t, `{"id":"ST-2/who/2","type":"sign-out","badge":"ife"}`) // idled out on the floor
	time.Sleep(twice)
	if x := toldBy(t, c.Scan(t, "B-ife")); x.Said.Badge != "" || x.Said.Outcome != workflow.Kept {
		t.Errorf("the same badge within its session: %+v", x)
	}
	if x := toldBy(t, c.Scan(t, "B-tobi")); x.Said.Badge != "tobi" {
		t.Errorf("another badge: %+v", x)
	}
	if x := signIn("tobi", webtest.PIN); x.Said.Outcome != workflow.No {
		t.Errorf("a badge that is at another bench: %+v", x)
	}
	if x := toldBy(t, c.Scan(t, "!SIGN-OUT")); x.State.Phase != "who" || x.Said.Text != workflow.SignedOut {
		t.Errorf("signing out: %+v", x)
	}
	if x := toldBy(t, c.Scan(t, "C-12")); x.Said.Code != "E-SES-01" {
		t.Errorf("after it: %+v", x)
	}
}

// A browser that is no bench, or whose scan cannot be read, is told so.
func TestABenchAnswersOnlyBenches(t *testing.T) {
	hub := webtest.Demo(t, "--until", "08:05")
	office := hub.Client(t, "", "maren")
	if a := office.Get(t, "/bench"); a.Status != http.StatusSeeOther || a.Header.Get("Location") != "/join" {
		t.Errorf("an office's browser: %d to %s", a.Status, a.Header.Get("Location"))
	}
	if a := office.Scan(t, "C-01"); a.Status != http.StatusBadRequest {
		t.Errorf("an office's scan: %d %s", a.Status, a.Body)
	}
	c := hub.Client(t, "ST-1", "tobi")
	for _, body := range []string{``, `{}`, `{"raw":"C-01"}`, `{"session":"s","n":0,"raw":"C-01"}`, `{"session":"s","n":1,"raw":"C-01","proved":"maren"}`, `{"session":"s","n":1,"raw":"C-01"} {}`,
		`{"session":"s","n":1,"raw":"` + strings.Repeat("9", 5000) + `"}`} {
		if a := c.Do(t, http.MethodPost, "/bench/scan", "application/json", "application/json", body); a.Status != http.StatusBadRequest {
			t.Errorf("%.60s is answered %d", body, a.Status)
		}
	}
}

// A PIN may be given by digit cards, as all else; also by a reader so slow, or on a
// bench so busy, that its keys cannot be told from a hand's. No guess is lost by it.
func TestAPINByDigitCards(t *testing.T) {
	b := webtest.Open(t)
	hub := webtest.Demo(t, "--until", "14:09")
	hub.Do(t, `{"id":"ST-2/who/1","type":"sign-out","badge":"ife"}`)
	tab := bench(t, b, hub, "ST-2", "")
	if got := reads(t, tab, workflow.Signed("B-ife"), 0); got != "Hello. Now your PIN. Digits, then ENTER." {
		t.Fatal(got)
	}
	for i, d := range webtest.PIN {
		types(t, tab, workflow.Signed("#"+string(d)), time.Duration(i%2)*150*time.Millisecond)
	}
	types(t, tab, card("ENTER"), 0)
	tab.Until(t, `document.getElementById("bench").dataset.badge === "ife"`)
	if phase(t, tab) != "free" {
		t.Errorf("phase %s", phase(t, tab))
	}
}
