package engine

import (
	"encoding/hex"
	"encoding/json"
	"fmt"
	"testing"

	"golang.org/x/mod/sumdb/tlog"

	"packwright/events"
	"packwright/events/memlog"
	"packwright/workflow"
)

// accepting gives the owner's command that a loss is accepted.
func accepting(t *testing.T, n int, badge string, d events.LogRestored) workflow.Command {
	t.Helper()
	body, err := json.Marshal(d)
	if err != nil {
		t.Fatal(err)
	}
	return workflow.Command{ID: fmt.Sprintf("BOARD/restore/%d", n), Type: "accept-loss", Badge: badge, Basis: events.Keyed, Data: body}
}

func hash(t *testing.T, text string) (h tlog.Hash) {
	t.Helper()
	if n, err := hex.Decode(h[:], []byte(text)); err != nil || n != len(h) {
		t.Fatalf("%q is no root: %v", text, err)
	}
	return h
}

// TestAcceptedLoss puts an older log back under benches that hold later heads:
// they are refused until the owner accepts the loss; then each is answered, told
// the era, and what it still holds is kept once.
func TestAcceptedLoss(t *testing.T) {
	log := memlog.New()
	e := open(t, log, nil)
	sent := append(founding(), arrivals(12)...)
	var told []Answer
	for _, c := range sent {
		told = append(told, insist(t, e, c))
	}
	e.Close()
	const lost = 4 // frames
	old := memlog.New(log.Frames()[:len(log.Frames())-lost]...)
	newest := told[len(told)-1]

	e = open(t, old, nil)
	from := e.Head()
	if a := insist(t, e, showing(1, newest.Frame, newest.Root)); codeOf(a) != "E-SYS-05" {
		t.Fatalf("before anybody accepted it: %+v", a)
	}
	d := events.LogRestored{Frame: from.Frame, Size: from.Size, Root: hash(t, from.Root), Era: "e2", Reason: "disk failed",
		Lost: &events.LostHead{Frame: newest.Frame, Root: newest.Root}}
	wrong := d
	wrong.Size++
	for n, x := range []struct {
		badge string
		d     events.LogRestored
		code  workflow.Code
	}{{"nobody", d, "E-AUT-01"}, {"", d, "E-AUT-01"}, {"odile", wrong, "E-LOG-01"}, {"odile", d, ""}, {"odile", d, "E-LOG-03"}} {
		a := insist(t, e, accepting(t, n+1, x.badge, x.d))
		if codeOf(a) != x.code {
			t.Errorf("%s: %+v, want %q", x.badge, a, x.code)
		}
	}
	for range 2 { // the second time after a restart, from the log
		showLost(t, e, told, from.Frame)
		e.Close()
		e = open(t, old, nil)
	}
	resend(t, e, sent, told, from.Frame)
}

// showLost shows every head that was ever told.
func showLost(t *testing.T, e *Engine, told []Answer, from uint64) {
	t.Helper()
	for i, was := range told {
		c := showing(100+i, was.Frame, was.Root)
		c.ID = fmt.Sprintf("BOARD/show-%d/%d", e.Head().Frame, i+1)
		if a := insist(t, e, c); codeOf(a) == "E-SYS-05" || a.Era != "e2" {
			t.Errorf("frame %d of the first era: %+v", was.Frame, a)
		}
		c = showing(200+i, was.Frame, otherRoot)
		if a := insist(t, e, c); (codeOf(a) == "E-SYS-05") != (was.Frame <= from) {
			t.Errorf("another root at frame %d: %+v", was.Frame, a)
		}
	}
	for _, x := range []struct {
		era   string
		frame uint64
		root  string
	}{{"e2", e.Head().Frame + 1, otherRoot}, {"e2", e.Head().Frame, otherRoot}, {"e3", from + 1, otherRoot}} {
		c := showing(300, x.frame, x.root)
		c.HeldEra = x.era
		if a := insist(t, e, c); codeOf(a) != "E-SYS-05" {
			t.Errorf("a head of era %s that never was: %+v", x.era, a)
		}
	}
}

// resend gives all that benches still hold: what the log has is already there,
// what it lost is kept, and nothing twice.
func resend(t *testing.T, e *Engine, sent []workflow.Command, told []Answer, from uint64) {
	t.Helper()
	before := e.Head().Size
	again := int64(0)
	for i, c := range sent {
		want := workflow.Already
		if told[i].Frame > from {
			want = workflow.Kept
			again += int64(len(told[i].Events))
		}
		if a := insist(t, e, c); a.Outcome != want {
			t.Errorf("%s of frame %d, sent again: %+v, want %s", c.ID, told[i].Frame, a, want)
		}
	}
	if got := e.Head().Size - before; got != again || again == 0 {
		t.Errorf("%d events were kept, %d were lost", got, again)
	}
	for _, c := range sent {
		if a := insist(t, e, c); a.Outcome != workflow.Already {
			t.Errorf("%s, sent a third time: %+v", c.ID, a)
		}
	}
}
