package web_test

import (
	"fmt"
	"os"
	"slices"
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

// TestAWrongKeyboardIsFound scans the test card through keyboards that are set
// wrongly, and a code through one.
func TestAWrongKeyboardIsFound(t *testing.T) {
	b := webtest.Open(t)
	hub := webtest.Demo(t, "--until", "14:09")
	tab := bench(t, b, hub, "ST-2", "ife")
	for _, c := range []struct{ typed, says string }{
		{workflow.TestCard, "kept The reader and the keyboard agree."},
		{"!TESTßaqwymzAQWYMZß0123456789-.", "no The keyboard is German, not US. Then scan the test card again."},
		{"!test-AQWZMYaqwzmy-0123456789/.", "no Caps Lock is on. Press it once, then scan again."},
		{workflow.Signed("T-29")[:5] + "0", "no The check sign of this code does not fit. Read it again."},
	} {
		webtest.Eval[bool](t, tab, fmt.Sprintf(`(document.getElementById("text").textContent = "?",
			[...%q, "Enter"].forEach((key) => document.body.dispatchEvent(new KeyboardEvent("keydown", { key, bubbles: true, cancelable: true }))), true)`, c.typed))
		tab.Until(t, `document.getElementById("text").textContent !== "?"`)
		if got := says(t, tab); !strings.HasPrefix(got, c.says) {
			t.Errorf("%q is answered %q, not %q", c.typed, got, c.says)
		}
	}
}

// TestHowSoonAHandKnows measures from the reader's Enter to the answer on the page,
// with its log and the bench's own file on the disk.
func TestHowSoonAHandKnows(t *testing.T) {
	b := webtest.Open(t)
	hub := webtest.Demo(t, "--until", "14:09")
	tab := bench(t, b, hub, "ST-2", "ife")
	reads(t, tab, workflow.Signed("C-12"), 0)
	webtest.Eval[bool](t, tab, `(window.took = [], document.addEventListener("keydown", (e) => { if (e.key === "Enter") window.began = performance.now(); }, true),
		new MutationObserver(() => window.took.push(performance.now() - window.began)).observe(document.getElementById("text"), { childList: true, characterData: true, subtree: true }), true)`)
	for i, m := range marks(48, 12) {
		types(t, tab, m, 0)
		tab.Until(t, fmt.Sprintf(`document.getElementById("text").textContent === "%d in C-12."`, i+1))
	}
	took := webtest.Eval[[]float64](t, tab, `window.took`)
	slices.Sort(took)
	t.Logf("from Enter to the answer on the page: median %.0f ms, slowest %.0f ms of %d", took[len(took)/2], took[len(took)-1], len(took))
	if took[len(took)/2] > 150 {
		t.Errorf("a hand waits %.0f ms", took[len(took)/2])
	}
}

// TestBenchPictures shows a bench on a tablet, a phone, light and dark, for eyes.
func TestBenchPictures(t *testing.T) {
	if os.Getenv("PACKWRIGHT_PICTURES") == "" {
		t.Skip("PACKWRIGHT_PICTURES names no directory: nothing is drawn")
	}
	b := webtest.Open(t)
	run, place, count := webtest.Demo(t, "--until", "10:00"), webtest.Demo(t, "--until", "14:11"), webtest.Demo(t, "--until", "17:29:20")
	tabs := map[string]*webtest.Tab{"run": bench(t, b, run, "ST-2", "ife"), "place": bench(t, b, place, "ST-3", "sunniva"), "count": bench(t, b, count, "ST-3", "sunniva")}
	reads(t, tabs["run"], workflow.Signed("T-01"), 0)
	reads(t, tabs["place"], workflow.Signed("C-05"), 0)
	reads(t, tabs["place"], "TRY", 0)
	reads(t, tabs["count"], workflow.Signed("C-07"), 0)
	reads(t, tabs["count"], card("FINISH-CARTON"), 0)
	for name, tab := range tabs {
		for _, size := range []struct {
			name       string
			wide, high int64
		}{{"tablet", 1024, 768}, {"tablet-wide", 1280, 800}, {"phone", 390, 844}, {"narrow", 320, 700}} {
			for _, paper := range []string{"sheet", "slate"} {
				tab.Size(t, size.wide, size.high)
				tab.Paper(t, paper)
				tab.Picture(t, fmt.Sprintf("bench-%s-%s-%s", name, size.name, paper))
				if over := webtest.Eval[float64](t, tab, `document.documentElement.scrollWidth - innerWidth`); over > 0 {
					t.Errorf("%s on a %s: %.0f px stand out at the side", name, size.name, over)
				}
			}
		}
	}
}

// TestLinesAreCountedByName counts a carton of two kinds by its fields: Enter goes to
// the next, and after the last the count is given.
func TestLinesAreCountedByName(t *testing.T) {
	b := webtest.Open(t)
	hub := webtest.Demo(t, "--until", "17:29:20")
	tab := bench(t, b, hub, "ST-3", "sunniva")
	reads(t, tab, workflow.Signed("C-07"), 0)
	reads(t, tab, card("FINISH-CARTON"), 0)
	slowly := func(keys string) {
		t.Helper()
		for _, k := range keys {
			tab.Do(t, chromedp.KeyEvent(string(k)), chromedp.Sleep(160*time.Millisecond))
		}
	}
	tab.Until(t, `document.activeElement?.dataset?.item === "PLU"`)
	slowly("6\r")
	tab.Until(t, `document.activeElement?.dataset?.item === "PUZ"`)
	types(t, tab, card("HELP"), 0) // a reader goes off while a hand types: the field keeps what it had
	slowly("15\r")
	tab.Until(t, `document.getElementById("text").textContent === "Now weigh C-07."`)
	counted := hub.Events(t, "count.entered")
	lines := fmt.Sprint(counted[len(counted)-1]["data"].(map[string]any)["lines"])
	if lines != "[map[item:PLU q:6] map[item:PUZ q:15]]" {
		t.Errorf("the log holds the count %s", lines)
	}
}
