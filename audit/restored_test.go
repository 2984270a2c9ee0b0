package audit_test

import (
	"strings"
	"testing"

	"packwright/audit"
	"packwright/audit/follow"
	"packwright/events"
)

// TestRestoredIsLawful: a log that goes on from an older copy of itself says from
// which of its own heads; the seam is listed with both heads.
func TestRestoredIsLawful(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*events.LogRestored)
		law    string
	}{
		"lawful":        {func(*events.LogRestored) {}, ""},
		"an event more": {func(d *events.LogRestored) { d.Size-- }, "a restored log goes on from its own head"},
		"another root":  {func(d *events.LogRestored) { d.Root[9]++ }, "a restored log goes on from its own head"},
	} {
		f := unfounded(t)
		f.do("BOARD", "odile", &events.FloorFounded{Floor: "lantern-yard", Owner: "odile", Currency: "EUR", Epoch: "E1"})
		f.do("BOARD", "odile", &events.LotAnnounced{Lot: "L-01", Kind: "bought", Item: "MG3", Owner: "house", Qty: 9})
		h := signed(t, f.list, nil)
		d := &events.LogRestored{Frame: h.Frame, Size: h.Size, Root: h.Root, Era: "e2", Reason: "disk failed", Lost: &events.LostHead{Frame: 7, Root: "22f7cb1d3a60b7c1"}}
		c.change(d)
		f.do("BOARD", "odile", d)
		v, err := follow.Verify(t.Context(), f.log(), nil)
		switch {
		case err != nil:
			t.Errorf("%s: %v", name, err)
		case c.law == "" && !v.OK(), c.law != "" && (len(v.Breaches) != 1 || v.Breaches[0].Law != c.law):
			t.Errorf("%s: %v, want %q", name, v.Breaches, c.law)
		}
		fold := audit.New()
		for i := range f.list {
			if err := fold.Apply(&f.list[i]); err != nil {
				t.Fatal(err)
			}
		}
		seams := fold.Irregular().Restored
		if len(seams) != 1 || seams[0].By != "odile" || !strings.Contains(seams[0].String(), "at least 5 frames, up to 7 with root 22f7cb1d3a60b7c1; disk failed") {
			t.Errorf("%s: %v", name, seams)
		}
	}
	f := audit.New()
	list := said(t, &events.FloorFounded{Floor: "lantern-yard"}, &events.LogRestored{Frame: 2, Size: 1, Era: "e2"})
	if err := f.Apply(&list[0]); err != nil {
		t.Fatal(err)
	}
	if f.Apply(&list[1]) == nil {
		t.Error("a log that goes on from what is yet to come")
	}
}
