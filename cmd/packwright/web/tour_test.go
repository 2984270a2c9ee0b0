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
	name, path, badge string
	late              bool // at the day's end, with its claims; else at 17:41
}

// tour is every page that a browser can open. TestEveryPageIsToured holds it
// against the table of routes.
var tour = []stop{
	{"sign-in", "/sign-in", "", false},
	{"join", "/join", "", false},
	{"pin", "/pin", "maren", false},
	{"wrong", "/wrong", "maren", false},
	{"wrong-none", "/wrong", "maren", true},
	{"wrong-x02", "/wrong/X-02", "maren", false},
	{"wrong-x02-owner", "/wrong/X-02", "odile", false},
	{"wrong-x01", "/wrong/X-01?at=14:00", "maren", false},
	{"wrong-x02-settled", "/wrong/X-02", "maren", true},
}

// sizes are the screens a page is looked at on.
var sizes = []struct {
	name          string
	width, height int64
}{
	{"desk", 1280, 800}, {"tablet", 800, 1280}, {"phone", 390, 844},
}

// hubs gives a hub at 17:41 and one at the end of the day, each started once.
func hubs(t *testing.T) func(late bool) *webtest.Hub {
	var at [2]*webtest.Hub
	return func(late bool) *webtest.Hub {
		i, until := 0, "17:41"
		if late {
			i, until = 1, "end"
		}
		if at[i] == nil {
			at[i] = webtest.Demo(t, "--until", until)
		}
		return at[i]
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
		key := s.badge
		if s.late {
			key += " late"
		}
		tab := tabs[key]
		if tab == nil {
			tab = b.Tab(t, hub(s.late))
			if s.badge != "" {
				tab.SignIn(t, s.badge)
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
