package web

import (
	"errors"
	"fmt"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"packwright/audit"
	"packwright/cmd/packwright/door"
	"packwright/cmd/packwright/web/webtest"
)

// doubt is a log whose two readings may come to differ.
type doubt struct {
	*deskDay
	mu    sync.Mutex
	moved chan struct{}
	err   error
}

func (d *doubt) Moved() <-chan struct{} { d.mu.Lock(); defer d.mu.Unlock(); return d.moved }
func (d *doubt) Err() error             { d.mu.Lock(); defer d.mu.Unlock(); return d.err }

func (d *doubt) differ(err error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.err = err
	close(d.moved)
	d.moved = make(chan struct{})
}

// served is a day behind a door of its own, with a browser signed in as maren.
func served(t *testing.T, until string) (*doubt, *webtest.Tab) {
	b := webtest.Open(t)
	d := &doubt{deskDay: playFilm(t, until), moved: make(chan struct{})}
	d.pages.Log = d
	if err := d.pages.Entry.SetPIN("maren", webtest.PIN, false); err != nil {
		t.Fatal(err)
	}
	srv := httptest.NewServer(d.web)
	t.Cleanup(func() { srv.CloseClientConnections(); srv.Close() })
	tab := b.Tab(t, &webtest.Hub{URL: srv.URL})
	tab.SignIn(t, "maren")
	return d, tab
}

// TestTheReadingsDiffer: when the auditor no longer believes the log, every page
// says so, and one that is open says so by itself.
func TestTheReadingsDiffer(t *testing.T) {
	d, tab := served(t, "17:41")
	tab.Go(t, "/")
	tab.Until(t, "document.documentElement.dataset.fresh")
	if got := tab.Text(t, "#differ"); got != "" {
		t.Fatalf("the banner says %q", got)
	}
	d.differ(errors.New("frame 12: the decider's cells are not the auditor's"))
	tab.Until(t, `document.querySelector("#differ .outcome")`)
	if got := tab.Text(t, "#differ"); !strings.Contains(got, "The two readings of the log differ.") || !strings.Contains(got, "frame 12") {
		t.Errorf("the banner says %q", got)
	}
	tab.Picture(t, "board-differ")
	for _, path := range []string{"/", "/wrong", "/day", "/story"} {
		d.as("maren").opens(path, "The two readings of the log differ.")
	}
}

// TestSliderByKeyboard: the arrows step from event to event, with Shift by a
// minute, and what is drawn and said goes along.
func TestSliderByKeyboard(t *testing.T) {
	_, tab := served(t, "")
	tab.Go(t, "/day?at=17:41")
	tab.Until(t, `!document.getElementById("t").hidden`)
	webtest.Eval[bool](t, tab, `document.getElementById("t").focus(), true`)
	from := webtest.Eval[int](t, tab, `Number(document.getElementById("t").dataset.step)`)
	before := tab.Text(t, "#when")
	for i, key := range []string{"ArrowLeft", "ArrowLeft", "ArrowRight"} {
		press(t, tab, key, false)
		want := from + []int{-1, -2, -1}[i]
		tab.Until(t, fmt.Sprintf(`document.documentElement.dataset.step === "%d"`, want))
		says := webtest.Eval[string](t, tab, `document.getElementById("t").getAttribute("aria-valuetext")`)
		if now := tab.Text(t, "#when"); !strings.HasPrefix(says, now+", ") || len(says) < len(now)+6 {
			t.Errorf("at %s the slider says %q", now, says)
		}
	}
	press(t, tab, "ArrowLeft", true)
	tab.Until(t, fmt.Sprintf(`Number(document.documentElement.dataset.step) < %d`, from-1))
	if now := tab.Text(t, "#when"); now >= before {
		t.Errorf("a minute before %s is %s", before, now)
	}
	webtest.Eval[bool](t, tab, `(() => { const t = document.getElementById("t"); t.value = 11 * 3600; t.dispatchEvent(new Event("input")); return true })()`)
	tab.Until(t, `document.getElementById("when").textContent < "11:00:01" && document.getElementById("when").textContent > "10:5"`)
	if got := tab.Text(t, "#day-boxes"); !strings.Contains(got, "planned") || strings.Contains(got, "sealed") {
		t.Errorf("at eleven the boxes say %q", got)
	}
	tab.Picture(t, "day-slider")
}

// press types a key, as a keyboard does.
func press(t *testing.T, tab *webtest.Tab, key string, shift bool) {
	t.Helper()
	keys := map[string]string{"ArrowLeft": kb.ArrowLeft, "ArrowRight": kb.ArrowRight}
	if shift {
		tab.Do(t, chromedp.KeyEvent(keys[key], chromedp.KeyModifiers(chromedp.ModifierShift)))
		return
	}
	tab.Do(t, chromedp.KeyEvent(keys[key]))
}

// TestTwoHundredCartons looks at a board of two hundred.
func TestTwoHundredCartons(t *testing.T) {
	_, tab := served(t, "17:41")
	p := (&Pages{}).Open()
	page := boardPage{Sheet: Sheet{Name: "large", Who: door.Who{House: true}, Styles: []string{"board.css"}}, Go: Verdict{Word: "NO-GO", Sign: "no", Why: "200 cartons."}}
	for i := range 200 {
		c := audit.BoardCarton{Carton: fmt.Sprintf("C-%03d", i+1), State: boxOrder[i%len(boxOrder)], Planned: 12 + i%20, Scanned: i % 13, Blockers: []string{"X-01"}, Load: "LD-1", Finish: &audit.Estimate{Minutes: 4}}
		b := boxOf(c, nil)
		b.Small = true
		page.Boxes, page.Cartons = append(page.Boxes, b), append(page.Cartons, c)
	}
	html, err := p.part("board", "board-boxes", page)
	if err != nil {
		t.Fatal(err)
	}
	for _, width := range []int64{1280, 800, 390} {
		tab.Size(t, width, 900)
		tab.Go(t, "/?at=17:41")
		webtest.Eval[bool](t, tab, fmt.Sprintf(`(() => { const t = document.createElement("template"); t.innerHTML = %q; document.getElementById("board-boxes").replaceWith(t.content.firstElementChild); document.querySelector(".boxes").scrollIntoView(); return true })()`, html))
		tab.Picture(t, fmt.Sprintf("board-200-%d", width))
		if wide := webtest.Eval[float64](t, tab, "document.documentElement.scrollWidth"); int64(wide) > width {
			t.Errorf("at %d px the page is %.0f px wide", width, wide)
		}
		if low := webtest.Eval[float64](t, tab, `Math.min(...[...document.querySelectorAll(".boxes b")].map((e) => parseFloat(getComputedStyle(e).fontSize)))`); low < 13 {
			t.Errorf("at %d px a carton's name is %.1f px", width, low)
		}
	}
}
