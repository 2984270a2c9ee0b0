package web_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"packwright/cmd/packwright/web/webtest"
	"packwright/prep"
	"packwright/workflow"
)

// bench opens a bench's page in a tab of its own, with a badge signed in there.
func bench(t *testing.T, b *webtest.Browser, hub *webtest.Hub, station, badge string) *webtest.Tab {
	t.Helper()
	tab := b.Tab(t, hub)
	tab.Join(t, station)
	if badge != "" {
		tab.SignIn(t, badge)
	}
	tab.Size(t, 1280, 800)
	tab.Go(t, "/bench")
	ready(t, tab)
	return tab
}

func ready(t *testing.T, tab *webtest.Tab) {
	t.Helper()
	tab.Until(t, `document.getElementById("bench")?.dataset.ready`)
}

// reads types a code as a reader does, each key so long after the last, and waits
// until the bench has answered it.
func reads(t *testing.T, tab *webtest.Tab, code string, gap time.Duration) string {
	t.Helper()
	webtest.Eval[bool](t, tab, `(document.getElementById("text").textContent = "?", document.getElementById("next").textContent = "", true)`)
	types(t, tab, code, gap)
	tab.Until(t, `document.getElementById("text").textContent !== "?" && document.getElementById("said").className !== "outcome waiting"`)
	return says(t, tab)
}

func types(t *testing.T, tab *webtest.Tab, code string, gap time.Duration) {
	t.Helper()
	for _, key := range code {
		tab.Do(t, chromedp.KeyEvent(string(key)))
		time.Sleep(gap)
	}
	tab.Do(t, chromedp.KeyEvent("\r"))
}

// says gives the outcome and both lines of the last answer.
func says(t *testing.T, tab *webtest.Tab) string {
	t.Helper()
	return strings.TrimSpace(webtest.Eval[string](t, tab, `["word", "text", "next"].map((x) => document.getElementById(x).textContent).join(" ").replace(/\s+/g, " ")`))
}

func phase(t *testing.T, tab *webtest.Tab) string {
	t.Helper()
	return webtest.Eval[string](t, tab, `document.getElementById("bench").dataset.phase`)
}

// card is what a printed action card says to a reader.
func card(word string) string { return workflow.Signed("!" + word) }

// TestARunIsWalked preps a whole run by a reader's keys alone: at machine speed,
// and now and then at a hand's.
func TestARunIsWalked(t *testing.T) {
	b := webtest.Open(t)
	hub := webtest.Demo(t, "--until", "09:39")
	tab := bench(t, b, hub, "ST-1", "tobi")
	tab.Picture(t, "bench-free")
	got := reads(t, tab, workflow.Signed("T-04"), 60*time.Millisecond)
	if !strings.Contains(got, "T-04: 30 to prep. Clear the bench, look, then DONE.") {
		t.Fatal(got)
	}
	got = reads(t, tab, card("DONE"), 0)
	if phase(t, tab) != "run" || !strings.Contains(got, "Fetch card slip.") {
		t.Fatalf("%s: %s", phase(t, tab), got)
	}
	tab.Picture(t, "bench-run-fetch")
	got = reads(t, tab, "CS-03", 0)
	steps := 0
	for ; !strings.Contains(got, "30 left") && steps < 12; steps++ {
		what := card("DONE")
		if strings.Contains(got, "Scan the code that shows") {
			what = puzzle
		}
		time.Sleep(twice) // the same card twice in a moment is one
		got = reads(t, tab, what, time.Duration(steps%3)*40*time.Millisecond)
		if steps == 2 {
			tab.Picture(t, "bench-run-step")
		}
	}
	if !strings.Contains(got, "30 left in R-01.") {
		t.Fatalf("after %d steps: %s", steps, got)
	}
	tab.Picture(t, "bench-run")
	reads(t, tab, card("SPOILED"), 0)
	tab.Picture(t, "bench-spoiled")
	if got = reads(t, tab, card("TEAR"), 0); !strings.Contains(got, "kept Noted. Put it into A-ST-1.") {
		t.Fatal(got)
	}
	reads(t, tab, "12", 0)
	if got = reads(t, tab, card("READY"), 0); !strings.Contains(got, "Ready ones and others do not mix. Scan an empty tote") {
		t.Fatal(got)
	}
	if got = reads(t, tab, workflow.Signed("T-21"), 0); !strings.Contains(got, "kept 12 ready.") {
		t.Fatal(got)
	}
	time.Sleep(twice)
	if got = reads(t, tab, card("READY"), 90*time.Millisecond); strings.Contains(got, "do not mix") {
		got = reads(t, tab, workflow.Signed("T-21"), 0)
	}
	if !strings.Contains(got, "kept 29 ready.") {
		t.Fatal(got)
	}
	tab.Picture(t, "bench-run-ready")
	for i := 0; phase(t, tab) == "run" && i < 4; i++ {
		if got = reads(t, tab, card("FINISH-RUN"), 0); strings.Contains(got, "Then DONE") {
			got = reads(t, tab, card("DONE"), 0)
		}
	}
	if !strings.Contains(got, "kept R-01 is over.") {
		t.Fatal(got)
	}
	closed := hub.Events(t, "run.closed")
	if len(closed) != 1 {
		t.Fatalf("%d runs closed", len(closed))
	}
	if d := closed[0]["data"].(map[string]any); d["in"] != 30.0 || d["made"] != 29.0 || d["spoiled"] != 1.0 {
		t.Errorf("the run closed with %v", d)
	}
}

// twice is longer than the moment in which the same code is one.
const twice = 950 * time.Millisecond

// puzzle is the code on the maker's box.
const puzzle = "9520000010041"

// TestACartonIsFilledCountedAndSealed walks a carton from its first piece to its
// seal: placed by a reader, a piece twice, one taken back, counted blind by the
// keyboard alone, weighed, sealed.
func TestACartonIsFilledCountedAndSealed(t *testing.T) {
	b := webtest.Open(t)
	hub := webtest.Demo(t, "--until", "13:49")
	tab := bench(t, b, hub, "ST-2", "ife")
	ask := func(code, want string) {
		t.Helper()
		if got := reads(t, tab, code, 15*time.Millisecond); !strings.Contains(got, want) {
			t.Fatalf("%s is answered %q, not %q", code, got, want)
		}
	}
	ask("520 g", "Empty box")
	ask(workflow.Signed("C-04"), "C-04 is open.")
	ask(workflow.Signed("T-28"), "From T-28.")
	for i := range 12 {
		mark := prep.Mark(36 + i).Code()
		ask(mark, fmt.Sprintf("kept %d in C-04.", i+1))
		if i == 6 {
			tab.Picture(t, "bench-place-kept")
			ask(mark, "already Already in C-04. Nothing changed.")
			tab.Picture(t, "bench-place-already")
			ask(prep.Mark(1).Code(), "no ")
			tab.Picture(t, "bench-place-no")
			ask(workflow.Signed("C-03"), "no Still in C-04. Scan C-03 again to switch.")
		}
	}
	ask(card("TAKE-BACK"), "kept Taken back. 11 in C-04.")
	ask(prep.Mark(47).Code(), "kept 12 in C-04.")
	ask(workflow.Signed("C-04")[:6]+"X", "no ") // a torn label: its check sign does not fit
	ask(workflow.Signed("!HELP"), "call The supervisor is called.")
	tab.Picture(t, "bench-place-call")
	ask(card("FINISH-CARTON"), "Count what is in C-04.")
	tab.Until(t, `document.activeElement?.name === "q"`)
	tab.Picture(t, "bench-count")
	tab.Paper(t, "slate")
	tab.Picture(t, "bench-count-slate")
	tab.Do(t, chromedp.KeyEvent("1"), chromedp.Sleep(200*time.Millisecond), chromedp.KeyEvent("2"), chromedp.Sleep(200*time.Millisecond), chromedp.KeyEvent("\r"))
	tab.Until(t, `document.getElementById("text").textContent.includes("weigh C-04")`)
	tab.Picture(t, "bench-weigh")
	ask("6091 g", "is counted.")
	if phase(t, tab) != "seal" {
		t.Fatalf("phase %s", phase(t, tab))
	}
	tab.Picture(t, "bench-seal")
}
