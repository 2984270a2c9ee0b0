package web_test

import (
	_ "embed"
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"packwright/cmd/packwright/web"
	"packwright/cmd/packwright/web/webtest"
)

//go:embed testdata/access.js
var accessJS string

// narrow is the width of WCAG 2.2's criterion on reflow: 1280 px at 400 %.
const narrow = 320

// TestAccess looks at every page of the tour as drawn, in light and dark, at a
// desk, on a tablet, on a phone and at 320 px: contrast computed from the styles,
// names and roles, sizes of what is to be hit, order of headings, language,
// reflow.
func TestAccess(t *testing.T) {
	least := 99.0
	pages := 0
	look := func(t *testing.T, tab *webtest.Tab, where string) {
		var got struct {
			Wrong []string
			Least float64
		}
		raw := webtest.Eval[string](t, tab, accessJS)
		if err := json.Unmarshal([]byte(raw), &got); err != nil {
			t.Fatalf("%s: %v in %s", where, err, raw)
		}
		pages++
		least = min(least, got.Least)
		for _, w := range got.Wrong {
			t.Errorf("%s: %s", where, w)
		}
	}
	walk(t, "", func(t *testing.T, tab *webtest.Tab, s stop, paper, size string) {
		look(t, tab, strings.Join([]string{s.name, size, paper}, " "))
		if size == "phone" && paper == "sheet" {
			tab.Size(t, narrow, 640)
			look(t, tab, s.name+" at 320 px")
		}
	})
	t.Logf("%d pages as drawn; the least contrast of a text is %.2f", pages, least)
}

// notPages are routes that answer no page of their own.
var notPages = []string{"GET /static/{file}", "GET /live", "GET /day/board", "GET /day/steps", "GET /bench/state",
	"GET /print/contents/{carton}", "GET /print/badge/{badge}", "GET /print/codes", "GET /print/cards", "GET /print/test"} // PDFs

// TestEveryPageIsToured: each route that draws a page is on the tour, so that it
// is looked at and measured.
func TestEveryPageIsToured(t *testing.T) {
	toured := map[string]bool{}
	mux := http.NewServeMux()
	var patterns []string
	for _, r := range (&web.Pages{}).Routes() {
		if !r.Page || !strings.HasPrefix(r.Pattern, "GET ") {
			continue
		}
		patterns = append(patterns, r.Pattern)
		mux.HandleFunc(r.Pattern, func(http.ResponseWriter, *http.Request) {})
	}
	for _, s := range tour {
		_, pattern := mux.Handler(httptest.NewRequest(http.MethodGet, s.path, nil))
		toured[pattern] = true
	}
	for _, p := range notPages {
		toured[p] = true
	}
	for _, p := range patterns {
		if !toured[p] {
			t.Errorf("%s is on no tour", p)
		}
	}
}
