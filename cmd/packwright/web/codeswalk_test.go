package web_test

import (
	"testing"

	"packwright/cmd/packwright/web/webtest"
)

// TestCodesOnAPhone: no code is broken over two lines, at the width of a small telephone.
func TestCodesOnAPhone(t *testing.T) {
	b, hub := webtest.Open(t), webtest.Demo(t)
	tab := b.Tab(t, hub)
	tab.SignIn(t, "maren")
	for _, width := range []int64{320, 347, 390} {
		tab.Size(t, width, 844)
		for _, path := range []string{"/", "/wrong", "/wrong/X-02", "/plans", "/story?code=C-07"} {
			tab.Go(t, path)
			if broken := webtest.Eval[string](t, tab, `[...document.querySelectorAll(".code")].filter((e) => e.getClientRects().length > 1).map((e) => e.textContent).join()`); broken != "" {
				t.Errorf("%s at %d px breaks %s", path, width, broken)
			}
			if n := webtest.Eval[int](t, tab, `document.querySelectorAll(".code").length`); n == 0 {
				t.Errorf("%s names no code", path)
			}
			if over := webtest.Eval[int](t, tab, `document.documentElement.scrollWidth - innerWidth`); over > 0 {
				t.Errorf("%s at %d px is %d px too wide", path, width, over)
			}
		}
	}
}
