package web_test

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"packwright/cmd/packwright/web/webtest"
)

// watchBenches keeps, in a tab, when the benches last changed and what they said.
const watchBenches = `window.seen = []; window.said = document.getElementById("board-benches").innerText; new MutationObserver(() => {
	const says = document.getElementById("board-benches").innerText;
	if (said !== says) seen.push({ at: performance.timeOrigin + performance.now(), says: said = says });
}).observe(document.querySelector("main"), { subtree: true, childList: true, characterData: true }); true`

// TestTwelveTabsLive: twelve tabs of one browser follow the board through one
// stream, and each shows what happened within 300 ms of the durable event.
func TestTwelveTabsLive(t *testing.T) {
	b, hub := webtest.Open(t), webtest.Demo(t)
	first := b.Tab(t, hub)
	first.SignIn(t, "maren")
	tabs := []*webtest.Tab{first}
	for len(tabs) < 12 {
		tabs = append(tabs, first.Beside(t))
	}
	for _, tab := range tabs {
		tab.Go(t, "/")
		tab.Until(t, "document.documentElement.dataset.fresh")
		webtest.Eval[bool](t, tab, watchBenches)
	}
	var fromAnswer, fromSend []time.Duration
	for i := range 24 {
		kind, badge := "sign-out", "tobi"
		if i%2 == 1 {
			kind = "sign-in"
		}
		sent := time.Now()
		hub.Do(t, fmt.Sprintf(`{"id":"ST-1/live-walk/%d","type":%q,"badge":%q,"data":{}}`, i+1, kind, badge))
		kept := time.Now()
		for k, tab := range tabs {
			tab.Until(t, fmt.Sprintf("seen.length > %d", i))
			raw := webtest.Eval[string](t, tab, fmt.Sprintf("JSON.stringify(seen[%d])", i))
			var saw struct {
				At   float64
				Says string
			}
			if err := json.Unmarshal([]byte(raw), &saw); err != nil {
				t.Fatal(err)
			}
			if here := strings.Contains(strings.Split(saw.Says, "ST-2")[0], badge); here != (kind == "sign-in") {
				t.Errorf("event %d, tab %d says %q", i, k, saw.Says)
			}
			at := time.UnixMicro(int64(saw.At * 1000))
			fromAnswer, fromSend = append(fromAnswer, at.Sub(kept)), append(fromSend, at.Sub(sent))
		}
		time.Sleep(60 * time.Millisecond)
	}
	slices.Sort(fromAnswer)
	slices.Sort(fromSend)
	n := len(fromSend)
	t.Logf("%d changes in %d tabs, %d sightings: from the answer median %s, max %s; from the send median %s, max %s",
		24, len(tabs), n, fromAnswer[n/2].Round(time.Millisecond), fromAnswer[n-1].Round(time.Millisecond), fromSend[n/2].Round(time.Millisecond), fromSend[n-1].Round(time.Millisecond))
	if p := fromAnswer[n*9/10]; p > 300*time.Millisecond {
		t.Errorf("nine of ten sightings take up to %s", p)
	}
	tabs[11].Picture(t, "twelfth-tab")
}

// TestAway: a hub that is gone is said on the page, with the last moment it was
// heard; back again, the page takes the whole and says no more.
func TestAway(t *testing.T) {
	b, hub := webtest.Open(t), webtest.Demo(t)
	tab := b.Tab(t, hub)
	tab.SignIn(t, "maren")
	tab.Go(t, "/")
	tab.Until(t, "document.documentElement.dataset.fresh")
	hub.Kill()
	tab.Until(t, `!document.querySelector(".away").hidden`)
	if got := tab.Text(t, ".away"); !strings.HasPrefix(got, "away since 17:4") {
		t.Errorf("the page says %q", got)
	}
	tab.Picture(t, "board-away")
	hub.Again(t)
	tab.Until(t, `document.querySelector(".away").hidden`)
}

// TestSignedOutTabsAreTold: who signs out in one tab sees no more in the others.
func TestSignedOutTabsAreTold(t *testing.T) {
	b, hub := webtest.Open(t), webtest.Demo(t)
	one := b.Tab(t, hub)
	one.SignIn(t, "maren")
	two := one.Beside(t)
	two.Go(t, "/")
	two.Until(t, "document.documentElement.dataset.fresh")
	one.Go(t, "/pin")
	webtest.Eval[bool](t, one, `fetch("/sign-out", {method: "POST"}).then(() => true)`)
	two.Until(t, `!document.querySelector(".away").hidden`)
	if got := two.Text(t, ".away"); !strings.Contains(got, "signed out") && !strings.Contains(got, "away") {
		t.Errorf("the other tab says %q", got)
	}
}
