package web_test

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"packwright/cmd/packwright/web/webtest"
)

// stop is one page of the tour: who opens it, on which day, and where.
type stop struct {
	name, path, badge string // badge@bench in a browser that has joined as one
	until             string // when the day stopped
}

// tour is every page that a browser can open. TestEveryPageIsToured holds it
// against the table of routes.
var tour = []stop{
	{"sign-in", "/sign-in", "", "17:41"},
	{"join", "/join", "", "17:41"},
	{"pin", "/pin", "maren", "17:41"},
	{"board", "/", "maren", "17:41"},
	{"board-morning", "/?at=10:40", "odile", "17:41"},
	{"board-afternoon", "/?at=14:20", "maren", "17:41"},
	{"board-end", "/", "maren", "end"},
	{"day", "/day?at=13:52:53", "maren", "end"},
	{"day-end", "/day", "maren", "end"},
	{"story", "/story", "maren", "end"},
	{"story-mark", "/story?code=M-0019", "maren", "end"},
	{"story-set", "/story?code=C-11&item=DSC", "maren", "end"},
	{"story-lot", "/story?code=L-02", "maren", "end"},
	{"story-load", "/story?code=LD-1", "maren", "end"},
	{"story-none", "/story?code=M-9999", "maren", "end"},
	{"story-label", "/story?code=M-0023", "maren", "end"},
	{"story-client", "/story?code=C-07", "quill", "end"},
	{"bench-out", "/bench", "@ST-1", "17:41"},
	{"bench-in", "/bench", "tobi@ST-1", "17:41"},
	{"bench-office", "/bench", "ife", "17:41"},
	{"wrong", "/wrong", "maren", "17:41"},
	{"wrong-none", "/wrong", "maren", "end"},
	{"wrong-x02", "/wrong/X-02", "maren", "17:41"},
	{"wrong-x02-owner", "/wrong/X-02", "odile", "17:41"},
	{"wrong-x01", "/wrong/X-01?at=14:00", "maren", "17:41"},
	{"plans", "/plans", "maren", "17:41"},
	{"plans-client", "/plans", "quill", "17:41"},
	{"plan", "/plans/P-01", "odile", "17:41"},
	{"plan-client", "/plans/P-01", "quill", "17:41"},
	{"plan-ask", "/plans/P-01/ask?carton=C-07&mismatch=X-02", "maren", "17:41"},
	{"plan-import", "/plans/import", "odile", "17:41"},
	{"change", "/change/PC-01", "odile", "11:45"},
	{"change-client", "/change/PC-01", "quill", "17:41"},
	{"claims", "/claimed", "maren", "end"},
	{"claims-none", "/claimed", "odile", "17:41"},
	{"claim-damaged", "/claimed/CL-01", "maren", "end"},
	{"claim-short", "/claimed/CL-02", "maren", "end"},
	{"statement", "/claimed/CL-02/statement", "maren", "end"},
	{"odd", "/odd", "odile", "end"},
	{"people", "/people", "odile", "17:41"},
	{"print", "/print", "odile", "17:41"},
	{"print-packer", "/print", "ife", "17:41"},
	{"print-run", "/print?run=R-06", "maren", "09:41"},
	{"print-carton", "/print?carton=C-07", "maren", "17:41"},
	{"print-carton-sent", "/print?carton=C-03", "maren", "end"},
	{"wrong-x02-settled", "/wrong/X-02", "maren", "end"},
}

// sizes are the screens a page is looked at on.
var sizes = []struct {
	name          string
	width, height int64
}{
	{"desk", 1280, 800}, {"tablet", 800, 1280}, {"phone", 390, 844},
}

// hubs gives a hub whose day stopped at a moment, each started once.
func hubs(t *testing.T) func(until string) *webtest.Hub {
	at := map[string]*webtest.Hub{}
	return func(until string) *webtest.Hub {
		if at[until] == nil {
			at[until] = webtest.Demo(t, "--until", until)
		}
		return at[until]
	}
}

// walk opens every stop in light and dark on each screen and hands the tab over.
// Tabs are kept by who is signed in.
func walk(t *testing.T, only string, see func(t *testing.T, tab *webtest.Tab, s stop, paper, size string)) {
	b, hub := webtest.Open(t), hubs(t)
	tabs := map[string]*webtest.Tab{}
	for _, s := range tour {
		if !strings.Contains(s.name, only) {
			continue
		}
		key := s.badge + " " + s.until
		tab := tabs[key]
		if tab == nil {
			tab = b.Tab(t, hub(s.until))
			badge, station, _ := strings.Cut(s.badge, "@")
			if station != "" {
				tab.Join(t, station)
			}
			if badge != "" {
				tab.SignIn(t, badge)
			}
			tabs[key] = tab
		}
		for _, paper := range []string{"sheet", "slate"} {
			tab.Paper(t, paper)
			for _, size := range sizes {
				tab.Size(t, size.width, size.height)
				tab.Go(t, s.path)
				see(t, tab, s, paper, size.name)
			}
		}
	}
}

// TestPictures makes a picture of every page, whole, in light and dark, at a
// desk, on a tablet and a phone:
//
//	PACKWRIGHT_PICTURES=DIR go test ./cmd/packwright/web -run TestPictures
//
// PACKWRIGHT_PICTURE names a part of the name of those wanted.
func TestPictures(t *testing.T) {
	if os.Getenv("PACKWRIGHT_PICTURES") == "" {
		t.Skip("PACKWRIGHT_PICTURES names no directory for them")
	}
	walk(t, os.Getenv("PACKWRIGHT_PICTURE"), func(t *testing.T, tab *webtest.Tab, s stop, paper, size string) {
		whole(t, tab, strings.Join([]string{s.name, size, paper}, "-"))
	})
}

// whole keeps a picture of all of a page, also what is below the window.
func whole(t *testing.T, tab *webtest.Tab, name string) {
	t.Helper()
	high := webtest.Eval[float64](t, tab, "document.documentElement.scrollHeight")
	wide := webtest.Eval[float64](t, tab, "innerWidth")
	beyond := true
	tab.Do(t, chromedp.Func(func(ctx context.Context, to *chromedp.Target) error {
		got, err := cdp.Call(ctx, to, page.CaptureScreenshot, page.CaptureScreenshotParams{CaptureBeyondViewport: &beyond,
			Clip: &page.Viewport{Width: wide, Height: high, Scale: 1}})
		if err != nil {
			return err
		}
		dir := os.Getenv("PACKWRIGHT_PICTURES")
		if err := os.MkdirAll(dir, 0o755); err != nil {
			return err
		}
		return os.WriteFile(filepath.Join(dir, name+".png"), got.Data, 0o644)
	}))
}
