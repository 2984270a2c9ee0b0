package webtest

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
)

// Browser is a chromium without a window.
type Browser struct{ ctx context.Context }

// Tab is one tab, with cookies of its own.
type Tab struct {
	Ctx context.Context // for chromedp's own actions
	hub *Hub
}

// Open starts a browser. Without one on this machine the test is skipped; with
// CI=true it fails.
func Open(t testing.TB) *Browser {
	t.Helper()
	at, err := exec.LookPath("chromium")
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("chromium is missing: CI needs it")
		}
		t.Skip("chromium is missing: the pages were not walked")
	}
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(at), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.WindowSize(1280, 800), chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true),
		chromedp.Flag("disable-domain-reliability", true), chromedp.Flag("no-pings", true))
	alloc, cancel := chromedp.NewExecAllocator(context.Background(), opts...)
	t.Cleanup(cancel)
	ctx, end := chromedp.NewContext(alloc)
	t.Cleanup(end)
	if err := chromedp.Do(ctx); err != nil {
		t.Fatal(err)
	}
	return &Browser{ctx}
}

// Tab opens a tab for a hub, signed out, with cookies of its own.
func (b *Browser) Tab(t testing.TB, h *Hub) *Tab {
	t.Helper()
	ctx, cancel := chromedp.NewContext(b.ctx, chromedp.WithNewBrowserContext())
	t.Cleanup(cancel)
	return b.open(t, ctx, h)
}

// Beside opens another tab that shares the cookies of the first.
func (x *Tab) Beside(t testing.TB) *Tab {
	t.Helper()
	ctx, cancel := chromedp.NewContext(x.Ctx)
	t.Cleanup(cancel)
	return (&Browser{}).open(t, ctx, x.hub)
}

func (b *Browser) open(t testing.TB, ctx context.Context, h *Hub) *Tab {
	t.Helper()
	if err := chromedp.Do(ctx); err != nil {
		t.Fatal(err)
	}
	return &Tab{ctx, h}
}

// Size sets the tab's size, in CSS px.
func (x *Tab) Size(t testing.TB, width, height int64) {
	t.Helper()
	x.Do(t, chromedp.EmulateViewport(width, height))
}

// Paper prefers light ("sheet") or dark ("slate").
func (x *Tab) Paper(t testing.TB, paper string) {
	t.Helper()
	scheme := map[string]string{"sheet": "light", "slate": "dark"}[paper]
	x.Do(t, chromedp.Func(func(ctx context.Context, to *chromedp.Target) error {
		_, err := cdp.Call(ctx, to, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
		return err
	}))
}

// Do runs actions, each within the test's patience.
func (x *Tab) Do(t testing.TB, actions ...chromedp.Action[chromedp.Void]) {
	t.Helper()
	ctx, cancel := context.WithTimeout(x.Ctx, patience)
	defer cancel()
	if err := chromedp.Do(ctx, actions...); err != nil {
		t.Fatal(err)
	}
}

// Go opens a page of the hub.
func (x *Tab) Go(t testing.TB, path string) {
	t.Helper()
	x.Do(t, chromedp.Navigate(x.hub.URL+path))
}

// Text gives what an element says.
func (x *Tab) Text(t testing.TB, selector string) string {
	t.Helper()
	return Eval[string](t, x, fmt.Sprintf("document.querySelector(%q)?.innerText ?? ''", selector))
}

// Until waits until an expression is true.
func (x *Tab) Until(t testing.TB, expression string) {
	t.Helper()
	for end := time.Now().Add(patience); time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		if Eval[bool](t, x, "!!("+expression+")") {
			return
		}
	}
	x.Picture(t, "stuck")
	t.Fatalf("never true: %s\nthe page says: %s", expression, x.Text(t, "body"))
}

// Eval gives the value of an expression in the page.
func Eval[T any](t testing.TB, x *Tab, expression string) T {
	t.Helper()
	ctx, cancel := context.WithTimeout(x.Ctx, patience)
	defer cancel()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	if err != nil {
		t.Fatalf("%s: %v", expression, err)
	}
	return v
}

// Picture keeps what the tab shows as DIR/name.png, where PACKWRIGHT_PICTURES
// names DIR; without it nothing is done.
func (x *Tab) Picture(t testing.TB, name string) {
	t.Helper()
	dir := os.Getenv("PACKWRIGHT_PICTURES")
	if dir == "" {
		return
	}
	ctx, cancel := context.WithTimeout(x.Ctx, patience)
	defer cancel()
	png, err := chromedp.Run(ctx, chromedp.CaptureScreenshot())
	if err == nil {
		err = os.MkdirAll(dir, 0o755)
	}
	if err == nil {
		err = os.WriteFile(filepath.Join(dir, name+".png"), png, 0o644)
	}
	if err != nil {
		t.Errorf("picture %s: %v", name, err)
	}
}

// SignIn proves a badge by its PIN: in an office or, on a tab that has joined, at
// its bench. It goes by HTTP, not by typing, and leaves the tab where it was.
func (x *Tab) SignIn(t testing.TB, badge string) {
	t.Helper()
	x.post(t, "/sign-in", url.Values{"badge": {badge}, "pin": {PIN}})
}

var codes = regexp.MustCompile(`\b\d{6}\b`)

// Join makes the tab a bench: a supervisor asks for a code, and the tab uses it.
// The code is read where the hub tells it, in the answer to the house.
func (x *Tab) Join(t testing.TB, station string) {
	t.Helper()
	code := codes.FindString(x.hub.Ask(t, http.MethodPost, "/join/code/"+url.PathEscape(station), ""))
	if code == "" {
		t.Fatalf("the hub gave no code for %s", station)
	}
	x.post(t, "/join", url.Values{"code": {code}})
}

// post sends a form as the tab would and takes the cookies over into it.
func (x *Tab) post(t testing.TB, path string, form url.Values) {
	t.Helper()
	at, err := url.Parse(x.hub.URL)
	if err != nil {
		t.Fatal(err)
	}
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range x.cookies(t) {
		jar.SetCookies(at, []*http.Cookie{{Name: c.Name, Value: c.Value, Path: "/"}})
	}
	client := http.Client{Jar: jar, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	resp, err := client.PostForm(x.hub.URL+path, form)
	if err != nil {
		t.Fatal(err)
	}
	said, _ := io.ReadAll(resp.Body)
	resp.Body.Close()
	if resp.StatusCode >= 400 {
		t.Fatalf("%s: %s\n%s", path, resp.Status, said)
	}
	for _, c := range jar.Cookies(at) {
		x.Do(t, chromedp.Func(func(ctx context.Context, to *chromedp.Target) error {
			_, err := cdp.Call(ctx, to, network.SetCookie, network.SetCookieParams{Name: c.Name, Value: c.Value, URL: x.hub.URL, HTTPOnly: yes(), SameSite: network.CookieSameSiteStrict})
			return err
		}))
	}
}

func (x *Tab) cookies(t testing.TB) (out []network.Cookie) {
	t.Helper()
	x.Do(t, chromedp.Func(func(ctx context.Context, to *chromedp.Target) error {
		got, err := cdp.Call(ctx, to, network.GetCookies, network.GetCookiesParams{URLs: []string{x.hub.URL}})
		for _, c := range got.Cookies {
			out = append(out, *c)
		}
		return err
	}))
	return out
}

func yes() *bool { v := true; return &v }
