package webtest

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"strings"
	"testing"
)

// Client is a browser without a screen: it keeps cookies and shows what it was sent.
type Client struct {
	hub     *Hub
	http    http.Client
	session string
	n       uint64
}

// Answer is what a client was sent: status, headers and body as they came.
type Answer struct {
	Status int
	Header http.Header
	Body   string
}

// Client gives a browser that has joined as a bench, when station is not empty, and
// where badge is signed in, when that is not empty.
func (h *Hub) Client(t testing.TB, station, badge string) *Client {
	t.Helper()
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	c := &Client{hub: h, session: fmt.Sprintf("client-%s", station)}
	c.http = http.Client{Jar: jar, Timeout: patience, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	if station != "" {
		code := codes.FindString(h.Ask(t, http.MethodPost, "/join/code/"+url.PathEscape(station), ""))
		if a := c.Form(t, "/join", url.Values{"code": {code}}); a.Status >= 400 {
			t.Fatalf("join %s: %d %s", station, a.Status, a.Body)
		}
	}
	if badge != "" {
		if a := c.Form(t, "/sign-in", url.Values{"badge": {badge}, "pin": {PIN}}); a.Status >= 400 {
			t.Fatalf("sign in %s: %d %s", badge, a.Status, a.Body)
		}
	}
	return c
}

// Do sends one request. Accept says as what the answer is wanted.
func (c *Client) Do(t testing.TB, method, path, accept, kind, body string) Answer {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	req, err := http.NewRequestWithContext(ctx, method, c.hub.URL+path, strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	req.Header.Set("Accept", accept)
	if kind != "" {
		req.Header.Set("Content-Type", kind)
	}
	resp, err := c.http.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	b, err := io.ReadAll(io.LimitReader(resp.Body, 4<<20))
	if err != nil {
		t.Fatalf("%s %s: %v", method, path, err)
	}
	return Answer{resp.StatusCode, resp.Header, string(b)}
}

// Get asks for a page.
func (c *Client) Get(t testing.TB, path string) Answer {
	t.Helper()
	return c.Do(t, http.MethodGet, path, "text/html", "", "")
}

// Form sends a form.
func (c *Client) Form(t testing.TB, path string, v url.Values) Answer {
	t.Helper()
	return c.Do(t, http.MethodPost, path, "text/html", "application/x-www-form-urlencoded", v.Encode())
}

// Scan sends what a reader typed, under the next number.
func (c *Client) Scan(t testing.TB, raw string) Answer {
	t.Helper()
	c.n++
	b, err := json.Marshal(map[string]any{"session": c.session, "n": c.n, "raw": raw})
	if err != nil {
		t.Fatal(err)
	}
	return c.Do(t, http.MethodPost, "/bench/scan", "application/json", "application/json", string(b))
}
