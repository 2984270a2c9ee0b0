package web_test

import (
	"net/http"
	"strings"
	"testing"

	"packwright/cmd/packwright/web/webtest"
	"packwright/workflow"
)

// TestACartonIsFilledAndLoaded walks a carton from its first piece to its truck by a
// reader's keys: placed, counted by digits, weighed, sealed, loaded. A seal before
// the count, a seal of another carton, a carton that is not sealed and a seal that
// is not the one put on are answered with their sign and sentence.
func TestACartonIsFilledAndLoaded(t *testing.T) {
	b := webtest.Open(t)
	hub := webtest.Demo(t, "--until", "14:09")
	tab := bench(t, b, hub, "ST-2", "ife")
	if got := hub.Ask(t, http.MethodPost, "/do", `{"id":"BOARD/load/1","type":"open-load","badge":"maren","data":{"load":"LD-1"}}`); !strings.Contains(got, `"outcome":"kept"`) {
		t.Fatal(got)
	}
	scan := func(code, where, want string) {
		t.Helper()
		got := reads(t, tab, code, 0)
		if at := phase(t, tab); !strings.HasPrefix(got, want) || at != where {
			t.Fatalf("%s is answered %q (%s), not %q (%s)", code, got, at, want, where)
		}
		outcome, _, _ := strings.Cut(want, " ")
		if signs := webtest.Eval[int](t, tab, `document.querySelectorAll("#sign svg").length`); (signs > 0) != (outcome != want && strings.Contains("kept already no call", outcome)) {
			t.Errorf("%s: %q with %d signs", code, got, signs)
		}
	}
	c12, c05, c04, load := workflow.Signed("C-12"), workflow.Signed("C-05"), workflow.Signed("C-04"), workflow.Signed("LD-1")
	scan(c12, "place", "kept C-12 is open.")
	for _, m := range marks(48, 12) {
		scan(m, "place", "kept ")
	}
	scan(card("FINISH-CARTON"), "count", "kept Count what is in C-12.")
	scan("000406", "count", "no Not counted yet. Do not tape.")
	tab.Picture(t, "walk-load-too-early")
	for _, digit := range []string{"#1", "#2"} {
		scan(workflow.Signed(digit), "count", "So far 1")
	}
	scan(card("ENTER"), "seal", "kept C-12 is counted. Stick its label, close it, weigh it.")
	scan("11515 g", "seal", "kept C-12 is counted. Stick its label, close it, scan the seal.")
	scan("000401", "seal", "no Seal 000401 was used on C-01.")
	scan("000406", "free", "kept C-12 is sealed with 000406.")
	scan(load, "load", "Loading LD-1. Scan a carton, then its seal.")
	scan(c05, "load", "C-05 for LD-1. Scan the seal on C-05.")
	scan("000410", "load", "no C-05 is not sealed. It cannot leave.")
	tab.Picture(t, "walk-load-not-sealed")
	scan(c12, "load", "C-12 for LD-1. Scan the seal on C-12.")
	scan("000406", "load", "kept C-12 ")
	scan(c04, "load", "C-04 for LD-1. Scan the seal on C-04.")
	scan("000407", "load", "call Seal on the box is 000407, record says 000403. Put it aside.")
	tab.Picture(t, "walk-load-other-seal")
	if done := hub.Events(t, "carton.dispatched"); len(done) != 1 || done[0]["badge"] != "ife" || done[0]["data"].(map[string]any)["carton"] != "C-12" {
		t.Errorf("on the load: %v", done)
	}
}
