package web_test

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/http/httputil"
	"net/url"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"packwright/cmd/packwright/web/webtest"
	"packwright/prep"
	"packwright/workflow"
)

// lossy stands between benches and their hub. It lets every answer through but each
// third one to a scan: then the hub has heard it, and the bench hears nothing.
type lossy struct {
	*httputil.ReverseProxy
	scans, lost atomic.Int64
}

func newLossy(t *testing.T, hub *webtest.Hub) (*lossy, *webtest.Hub) {
	t.Helper()
	to, err := url.Parse(hub.URL)
	if err != nil {
		t.Fatal(err)
	}
	x := &lossy{}
	x.ReverseProxy = &httputil.ReverseProxy{
		Rewrite: func(r *httputil.ProxyRequest) { r.SetURL(to); r.Out.Host = r.In.Host },
		ModifyResponse: func(r *http.Response) error {
			if strings.HasPrefix(r.Request.URL.Path, "/bench/scan") && x.scans.Add(1)%3 == 0 {
				x.lost.Add(1)
				return fmt.Errorf("dropped on purpose")
			}
			return nil
		},
		ErrorHandler: func(http.ResponseWriter, *http.Request, error) { panic(http.ErrAbortHandler) },
	}
	srv := httptest.NewServer(x)
	t.Cleanup(srv.Close)
	return x, hub.Through(srv.URL)
}

// filling is a bench that fills a carton with some pieces, one scan each.
type filling struct {
	station, badge, carton, tote string
	pieces                       []string
	pause                        time.Duration
}

func marks(from, n int) (out []string) {
	for i := range n {
		out = append(out, prep.Mark(from+i).Code())
	}
	return out
}

// TestKilledUnderThreeBenches kills the hub three times while three benches place
// pieces through a line that drops every third answer. Every scan ends in exactly
// one placement, in its order; and each bench asks its hands to look.
func TestKilledUnderThreeBenches(t *testing.T) {
	b := webtest.Open(t)
	hub := webtest.Demo(t, "--until", "14:09")
	line, through := newLossy(t, hub)
	plush := strings.Fields(strings.Repeat("PLU ", 8))
	benches := []filling{
		{"ST-1", "tobi", "C-14", "T-25", plush, twice},
		{"ST-2", "ife", "C-12", "T-29", marks(48, 12), 500 * time.Millisecond},
		{"ST-3", "sunniva", "C-06", "T-24", strings.Fields(strings.Repeat("TRY ", 9)), twice},
	}
	before := placedBy(t, hub)
	tabs := make([]*webtest.Tab, len(benches))
	for i, f := range benches {
		tabs[i] = bench(t, b, through, f.station, f.badge)
		reads(t, tabs[i], workflow.Signed(f.carton), 0)
		if got := reads(t, tabs[i], workflow.Signed(f.tote), 0); !strings.Contains(got, "From "+f.tote) {
			t.Fatalf("%s: %s", f.station, got)
		}
	}
	var all sync.WaitGroup
	for i, f := range benches {
		all.Go(func() {
			for _, piece := range f.pieces {
				types(t, tabs[i], piece, 0)
				time.Sleep(f.pause)
			}
		})
	}
	for range 3 {
		time.Sleep(1700 * time.Millisecond)
		hub.Kill()
		time.Sleep(400 * time.Millisecond)
		hub.Again(t)
	}
	all.Wait()
	for i, f := range benches {
		tabs[i].Until(t, `/0 waiting|hub reached$/.test(document.getElementById("link").textContent)`)
		want := fmt.Sprintf("%d in %s.", len(f.pieces), f.carton)
		tabs[i].Until(t, fmt.Sprintf(`document.getElementById("text").textContent === %q || document.querySelector(".in .n")?.textContent === "%d"`, want, len(f.pieces)))
	}
	after := placedBy(t, hub)
	for _, f := range benches {
		if n := after[f.carton] - before[f.carton]; n != len(f.pieces) {
			t.Errorf("%s: %d scans ended in %d placements", f.station, len(f.pieces), n)
		}
	}
	t.Logf("%d scans were answered, %d of the answers lost; three kills", line.scans.Load(), line.lost.Load())
	if line.lost.Load() < 6 {
		t.Errorf("only %d answers were lost: this proves little", line.lost.Load())
	}
	tabs[0].Go(t, "/bench")
	ready(t, tabs[0])
	if got := tabs[0].Text(t, "#look"); !strings.Contains(got, "Look in the carton: 8 pieces?") || !strings.HasPrefix(got, "Last kept: ") {
		t.Errorf("after the kill the page says %q", got)
	}
	tabs[0].Picture(t, "bench-look")
}

// placedBy counts the placements in the log by carton.
func placedBy(t *testing.T, hub *webtest.Hub) map[string]int {
	t.Helper()
	out := map[string]int{}
	for _, e := range hub.Events(t, "unit.placed") {
		out[e["data"].(map[string]any)["carton"].(string)]++
	}
	return out
}

// TestAwayTheBenchKeepsWhatIsScanned stops the hub for a while: placements wait on
// the bench, also over a reload of nothing but the browser's own memory, FINISH
// CARTON is refused on the spot, and when the hub is back all is kept with its own
// time and the bench reports that it has caught up.
func TestAwayTheBenchKeepsWhatIsScanned(t *testing.T) {
	b := webtest.Open(t)
	hub := webtest.Demo(t, "--until", "14:09")
	tab := bench(t, b, hub, "ST-2", "ife")
	reads(t, tab, workflow.Signed("C-12"), 0)
	reads(t, tab, workflow.Signed("T-29"), 0)
	reads(t, tab, prep.Mark(48).Code(), 0)
	hub.Kill()
	for _, m := range marks(49, 3) {
		types(t, tab, m, 0)
	}
	tab.Until(t, `document.getElementById("text").textContent === "Kept on this bench, 3 waiting."`)
	tab.Until(t, `document.getElementById("link").textContent === "hub not reached · 3 waiting"`)
	tab.Picture(t, "bench-away")
	types(t, tab, card("FINISH-CARTON"), 0)
	tab.Until(t, `document.getElementById("said").classList.contains("no")`)
	if got := says(t, tab); got != "no The hub is not reached. Counting, sealing and loading wait for it." {
		t.Errorf("FINISH CARTON without a hub: %q", got)
	}
	hub.Again(t)
	tab.Until(t, `document.getElementById("text").textContent === "4 in C-12."`)
	tab.Until(t, `document.getElementById("link").textContent === "hub reached"`)
	if n := len(hub.Events(t, "carton.finished")); n != finishedBy(t, hub) {
		t.Errorf("%d cartons were finished", n)
	}
	caught := hub.Events(t, "station.caught-up")
	if len(caught) == 0 || caught[len(caught)-1]["data"].(map[string]any)["n"] != 3.0 {
		t.Errorf("the bench reported %v", caught)
	}
	types(t, tab, prep.Mark(52).Code(), 0)
	tab.Until(t, `document.getElementById("text").textContent === "5 in C-12."`)
	if n := placedBy(t, hub)["C-12"]; n != 5 {
		t.Errorf("%d placements", n)
	}
	hub.Kill()
	for _, m := range marks(53, 2) {
		types(t, tab, m, 0)
	}
	tab.Until(t, `document.getElementById("text").textContent === "Kept on this bench, 2 waiting."`)
	tab.Do(t, chromedp.Navigate("about:blank")) // the browser is closed with two in it
	hub.Again(t)
	tab.Go(t, "/bench")
	ready(t, tab)
	tab.Until(t, `document.querySelector(".in .n")?.textContent === "7"`)
	if n := placedBy(t, hub)["C-12"]; n != 7 {
		t.Errorf("%d placements after the browser was closed", n)
	}
}

// finishedBy counts the cartons that the demo had finished by then: C-12 is none.
func finishedBy(t *testing.T, hub *webtest.Hub) (n int) {
	t.Helper()
	for _, e := range hub.Events(t, "carton.finished") {
		if e["data"].(map[string]any)["carton"] != "C-12" {
			n++
		}
	}
	return n
}

// TestTheKeyboardAloneWillDo signs in, fills, counts and puts away without a
// pointer and without a reader: by Tab, Enter, Space and digits.
func TestTheKeyboardAloneWillDo(t *testing.T) {
	b := webtest.Open(t)
	hub := webtest.Demo(t, "--until", "14:09")
	hub.Do(t, `{"id":"ST-2/keys/1","type":"sign-out","badge":"ife"}`)
	tab := bench(t, b, hub, "ST-2", "")
	if phase(t, tab) != "who" {
		t.Fatalf("phase %s", phase(t, tab))
	}
	tab.Picture(t, "bench-who")
	press := func(keys string) {
		t.Helper()
		for _, k := range keys {
			tab.Do(t, chromedp.KeyEvent(string(k)), chromedp.Sleep(150*time.Millisecond))
		}
	}
	tabTo := func(selector string) {
		t.Helper()
		for range 40 {
			if webtest.Eval[bool](t, tab, fmt.Sprintf(`!!document.activeElement?.matches(%q)`, selector)) {
				return
			}
			tab.Do(t, chromedp.KeyEvent("\t"), chromedp.Sleep(130*time.Millisecond))
		}
		t.Fatalf("Tab never comes to %s", selector)
	}
	tabTo(`input[name="badge"]`)
	press("ife\r")
	tab.Until(t, `document.activeElement?.id === "pin-field"`)
	tab.Picture(t, "bench-pin")
	press("2581\r")
	tab.Until(t, `document.getElementById("said").classList.contains("no")`)
	press("2580\r")
	tab.Until(t, `document.getElementById("bench").dataset.badge === "ife"`)
	press("C-12\r")
	tab.Until(t, `document.getElementById("bench").dataset.phase === "place"`)
	press("M-0048\r") // typed: the mark as people read it, without its sign
	tab.Until(t, `document.getElementById("said").className !== "outcome"`)
	t.Log(says(t, tab))
	tabTo(`.card[data-scan^="!TAKE-BACK"]`)
	press("\r")
	tab.Until(t, `document.getElementById("text").textContent.startsWith("Taken back.")`)
	tabTo(`.card[data-scan^="!HAND-OVER"]`)
	press(" ")
	tab.Until(t, `document.getElementById("text").textContent === "Hand over C-12."`)
	tabTo(`.card[data-scan^="!CANCEL"]`)
	press(" ")
	tab.Until(t, `document.getElementById("text").textContent === "Forgotten. Nothing was kept of it."`)
}
