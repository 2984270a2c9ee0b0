package webtest_test

import (
	"strings"
	"testing"

	"packwright/cmd/packwright/web/webtest"
)

func TestTheGroundCarries(t *testing.T) {
	b := webtest.Open(t)
	hub := webtest.Demo(t, "--until", "08:10")
	office, bench := b.Tab(t, hub), b.Tab(t, hub)
	office.Go(t, "/sign-in")
	office.SignIn(t, "maren")
	office.Go(t, "/pin")
	if got := office.Text(t, "header"); !strings.Contains(got, "maren") {
		t.Errorf("the office is signed in as %q", got)
	}
	bench.Join(t, "ST-1")
	bench.Go(t, "/join")
	bench.Picture(t, "ground")
	hub.Kill()
	hub.Again(t)
	office.Go(t, "/pin")
	if got := office.Text(t, "header"); !strings.Contains(got, "maren") {
		t.Errorf("after a kill the office is signed in as %q", got)
	}
	if n := len(hub.Events(t, "lot.received")); n == 0 {
		t.Error("no lot in the log after a kill")
	}
}
