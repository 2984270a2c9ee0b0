package web_test

import (
	"testing"

	"packwright/cmd/packwright/web/webtest"
)

// TestWrongFollows: what others say and raise comes into the open pages, and what
// is half written in a form on them stays, with the focus.
func TestWrongFollows(t *testing.T) {
	b, hub := webtest.Open(t), webtest.Demo(t)
	list := b.Tab(t, hub)
	list.SignIn(t, "maren")
	one := list.Beside(t)
	list.Go(t, "/wrong")
	list.Until(t, "document.documentElement.dataset.fresh")
	one.Go(t, "/wrong/X-02")
	one.Until(t, "document.documentElement.dataset.fresh")
	write := func(tab *webtest.Tab, field string) {
		webtest.Eval[bool](t, tab, `(() => { const f = document.querySelector('`+field+`'); f.closest("details")?.setAttribute("open", ""); f.focus(); f.value = "half a sentence"; window.mine = f; return true; })()`)
	}
	write(list, `form [name="s.text"]`)
	write(one, `[name="s.where_was_it"]`)
	hub.Do(t, `{"id":"BOARD/wrong-walk/1","type":"note","badge":"maren","data":{"mismatch":"X-02","text":"the rework shelf is bare"}}`,
		`{"id":"BOARD/wrong-walk/2","type":"raise","badge":"maren","data":{"kind":"NOSHOW","scope":{"lot":"L-05"},"text":"a pallet is not here"}}`)
	one.Until(t, `document.getElementById("wrong-case").innerText.includes("the rework shelf is bare")`)
	list.Until(t, `document.getElementById("wrong-list").innerText.includes("L-05 did not come in full")`)
	list.Until(t, `document.getElementById("wrong-facts").innerText.includes("L-05")`)
	for name, tab := range map[string]*webtest.Tab{"the list": list, "one": one} {
		if !webtest.Eval[bool](t, tab, `mine.isConnected && mine.value === "half a sentence" && document.activeElement === mine`) {
			t.Errorf("%s: what was half written is gone", name)
		}
	}
	webtest.Eval[bool](t, one, `(document.querySelector(".closing").scrollIntoView({ block: "end" }), true)`)
	one.Picture(t, "wrong-one-live")
}
