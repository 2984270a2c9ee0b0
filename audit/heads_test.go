package audit_test

import (
	"strings"
	"testing"

	"golang.org/x/mod/sumdb/note"

	"packwright/audit"
	"packwright/audit/follow"
	"packwright/events"
	"packwright/events/proof"
)

// testKey signs heads in tests. It is worth nothing: it stands here for all to read.
const (
	testKey  = "PRIVATE+KEY+packwright/lantern-yard+f303e8c0+Aboh/9ZYYba0KHeukPMzYCm8Iajq+qIq2kwg46aMpPyj"
	testVKey = "packwright/lantern-yard+f303e8c0+AVp/TJA8ONpTiawcKQAuMGYHNpUJ1CWEABqrrHYamcZb"
)

// signed gives the head of a log of events, one a frame, with a change.
func signed(t *testing.T, list []events.Event, change func(*events.HeadSigned)) *events.HeadSigned {
	t.Helper()
	var tree proof.Tree
	for i := range list {
		line, err := events.Encode(nil, &list[i])
		if err != nil {
			t.Fatal(err)
		}
		tree.Add(line)
	}
	head := events.HeadSigned{Frame: uint64(len(list)), Size: tree.Size, Root: tree.Root()}
	if change != nil {
		change(&head)
	}
	s, err := note.NewSigner(testKey)
	if err != nil {
		t.Fatal(err)
	}
	out, err := events.SignHead(s, head.Frame, head.Size, head.Root)
	if err != nil {
		t.Fatal(err)
	}
	if head.Signature != "" {
		out.Signature = head.Signature
	}
	return &out
}

// TestSignedHeadsAreLawful breaks each law of signed heads once, in a log that is
// whole otherwise, as package follow reads it.
func TestSignedHeadsAreLawful(t *testing.T) {
	for name, c := range map[string]struct {
		key    string
		change func(*events.HeadSigned)
		law    string
	}{
		"lawful":               {testVKey, nil, ""},
		"an event more":        {testVKey, func(h *events.HeadSigned) { h.Size-- }, "a signed head is one the log had"},
		"another root":         {testVKey, func(h *events.HeadSigned) { h.Root[3]++ }, "a signed head is one the log had"},
		"an earlier frame":     {testVKey, func(h *events.HeadSigned) { h.Frame-- }, "a signed head is one the log had"},
		"signed over what not": {testVKey, func(h *events.HeadSigned) { h.Signature = strings.Repeat("8wPowAAA", 11) + "8wMA" }, "a head is signed with the floor's key"},
		"no key":               {"", nil, "a head is signed with the floor's key"},
	} {
		f := unfounded(t)
		f.do("BOARD", "odile", &events.FloorFounded{Floor: "lantern-yard", Owner: "odile", Currency: "EUR", Epoch: "E1", Key: c.key})
		f.do("BOARD", "odile", &events.LotAnnounced{Lot: "L-01", Kind: "bought", Item: "MG3", Owner: "house", Qty: 9})
		f.do("BOARD", "odile", signed(t, f.list, c.change))
		v, err := follow.Verify(t.Context(), f.log(), nil)
		switch {
		case err != nil:
			t.Errorf("%s: %v", name, err)
		case c.law == "" && (!v.OK() || v.Heads != 1 || v.Signed.Size != v.Events-1 || v.Key != testVKey):
			t.Errorf("%s: %+v", name, v)
		case c.law != "" && (len(v.Breaches) != 1 || v.Breaches[0].Law != c.law):
			t.Errorf("%s: %v, want %q", name, v.Breaches, c.law)
		}
	}
}

// TestHeadCannotBePlaced: a head of what is yet to come is no fact.
func TestHeadCannotBePlaced(t *testing.T) {
	for _, d := range []*events.HeadSigned{{Frame: 2, Size: 1}, {Frame: 1, Size: 2}} {
		f := audit.New()
		list := said(t, &events.FloorFounded{Floor: "lantern-yard"}, d)
		if err := f.Apply(&list[0]); err != nil {
			t.Fatal(err)
		}
		if err := f.Apply(&list[1]); err == nil {
			t.Errorf("%+v was placed", d)
		}
	}
}
