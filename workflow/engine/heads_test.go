package engine

import (
	"fmt"
	"strings"
	"testing"

	"golang.org/x/mod/sumdb/note"

	"packwright/events"
	"packwright/events/memlog"
	"packwright/workflow"
)

// testKey signs heads in tests. It is worth nothing: it stands here for all to read.
const (
	testKey   = "PRIVATE+KEY+packwright/lantern-yard+f303e8c0+Aboh/9ZYYba0KHeukPMzYCm8Iajq+qIq2kwg46aMpPyj"
	testVKey  = "packwright/lantern-yard+f303e8c0+AVp/TJA8ONpTiawcKQAuMGYHNpUJ1CWEABqrrHYamcZb"
	otherRoot = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
)

// showing gives a command that shows the head a bench was told of.
func showing(n int, held uint64, root string) workflow.Command {
	c := cmd(fmt.Sprintf("BOARD/w/%d", n), "odile", "join", "name", fmt.Sprintf("W-%d", n))
	c.Held, c.HeldRoot = held, root
	return c
}

// TestWitness: benches show the heads they were told of, new and old, and are
// believed; one that shows a head this log never had is told E-SYS-05.
func TestWitness(t *testing.T) {
	e := open(t, memlog.New(), nil)
	told := map[uint64]string{}
	var first uint64
	for _, c := range append(founding(), arrivals(events.HeadReach/2+20)...) { // some are no longer remembered
		a := insist(t, e, c)
		told[a.Frame] = a.Root
		if first == 0 {
			first = a.Frame
		}
	}
	last := e.Head()
	if last.Frame-first <= events.HeadReach {
		t.Fatal("every head is still remembered; the test wants some that are not")
	}
	n := 0
	for _, frame := range []uint64{first, first + 1, first + 7, last.Frame - events.HeadReach + 30, last.Frame - 1, last.Frame} {
		for _, x := range []struct {
			root string
			want workflow.Code
		}{{told[frame], ""}, {otherRoot, "E-SYS-05"}, {strings.ToUpper(told[frame]), "E-SYS-05"}, {"", ""}} {
			n++
			a := insist(t, e, showing(n, frame, x.root))
			if got := codeOf(a); got != x.want {
				t.Errorf("the head after frame %d with root %.8s: %q, want %q", frame, x.root, got, x.want)
			}
		}
	}
}

func codeOf(a Answer) workflow.Code {
	if a.Refusal == nil {
		return ""
	}
	return a.Refusal.Code
}

// TestSwappedStore puts a log in the place of another: an older one of its own,
// and one of the same length that tells of other goods. Both are noticed by the
// first command of a bench that was told more.
func TestSwappedStore(t *testing.T) {
	log := memlog.New()
	e := open(t, log, nil)
	var held Answer
	for _, c := range append(founding(), arrivals(10)...) {
		held = insist(t, e, c)
	}
	e.Close()
	another := memlog.New()
	e = open(t, another, nil)
	for _, c := range append(founding(), arrivals(10)...) {
		if strings.HasPrefix(c.ID, "BOARD/2/7") {
			c.Data = []byte(strings.ReplaceAll(string(c.Data), `"qty":10`, `"qty":9`))
		}
		insist(t, e, c)
	}
	if e.Head().Frame != held.Frame {
		t.Fatal("the other log is of another length")
	}
	e.Close()
	frames := log.Frames()
	for name, swapped := range map[string]*memlog.Log{"an older one": memlog.New(frames[:len(frames)-1]...), "another of the same length": another} {
		e := open(t, swapped, nil)
		a := insist(t, e, showing(1, held.Frame, held.Root))
		if codeOf(a) != "E-SYS-05" || a.Outcome != workflow.No {
			t.Errorf("%s was put in its place: %+v", name, a)
		}
		if a := insist(t, e, showing(2, 0, "")); a.Outcome != workflow.Kept {
			t.Errorf("a bench that was told nothing: %+v", a)
		}
	}
	e = open(t, memlog.New(frames...), nil)
	if a := insist(t, e, showing(3, held.Frame, held.Root)); a.Outcome != workflow.Kept {
		t.Errorf("its own log: %+v", a)
	}
}

// TestSignHead: the writer keeps a head only if it has had it, also after a
// restart, when it remembers the newest one alone.
func TestSignHead(t *testing.T) {
	signer, err := note.NewSigner(testKey)
	if err != nil {
		t.Fatal(err)
	}
	log := memlog.New()
	e := open(t, log, nil)
	all := founding()
	all[0] = cmd("BOARD/1/1", "", "found", "floor", "lantern-yard", "owner", "odile", "currency", "EUR", "epoch", "e", "key", testVKey)
	for _, c := range all {
		insist(t, e, c)
	}
	n := 0
	sign := func(e *Engine, change func(*events.HeadSigned)) Answer {
		t.Helper()
		h := e.Head()
		_, root, ok := e.heads.at(h.Frame)
		if !ok {
			t.Fatal("the newest head is not known")
		}
		head, err := events.SignHead(signer, h.Frame, h.Size, root)
		if err != nil {
			t.Fatal(err)
		}
		if change != nil {
			change(&head)
		}
		n++
		return insist(t, e, cmd(fmt.Sprintf("BOARD/s/%d", n), "", "sign-head", "log", head.Log, "frame", head.Frame, "size", head.Size, "root", head.Root, "signature", head.Signature))
	}
	for want, change := range map[workflow.Code]func(*events.HeadSigned){
		"E-LOG-01": func(h *events.HeadSigned) { h.Frame++ },
		"E-LOG-02": func(h *events.HeadSigned) { h.Signature = h.Signature[:20] + "AAAA" + h.Signature[24:] },
	} {
		if a := sign(e, change); codeOf(a) != want {
			t.Errorf("%+v, want %s", a, want)
		}
	}
	if a := sign(e, nil); a.Outcome != workflow.Kept {
		t.Fatalf("%+v", a)
	}
	e.Close()
	e = open(t, log, nil)
	if a := sign(e, nil); a.Outcome != workflow.Kept {
		t.Errorf("after a restart: %+v", a)
	}
	if a := sign(e, func(h *events.HeadSigned) { h.Frame-- }); codeOf(a) != "E-LOG-01" {
		t.Errorf("a head that is not remembered: %+v", a)
	}
}
