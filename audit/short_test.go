package audit_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"packwright/audit"
	"packwright/events"
	"packwright/prep"
)

func strand(s audit.Shortage, on string) audit.Strand {
	for _, x := range s.Strands {
		if x.On == on {
			return x
		}
	}
	return audit.Strand{}
}

// TestShortEvidence: two discs are seen by the scale, one bundle is not.
func TestShortEvidence(t *testing.T) {
	fold := lanternDay(t).read()
	s, err := fold.ShortEvidence("C-11", "DSC", 2)
	if err != nil || s.Strength != audit.Strong || s.Verdict != "it left complete" || !strings.Contains(s.Defeat, "wrong by 240 g") {
		t.Errorf("%+v, %v", s, err)
	}
	if math.Abs(s.ZExpected.Float()+23.7) > .05 || math.Abs(s.ZReading.Float()+24.1) > .05 || s.Would != 3470*prep.Gram || s.Read != 3710*prep.Gram || s.Miss != 0 {
		t.Errorf("z %v and %v, would read %s", s.ZExpected, s.ZReading, s.Would)
	}
	for on, want := range map[string]audit.Strength{"books": audit.Strong, "weight": audit.Strong, "persons": audit.Fair, "seal": audit.Strong, "wait": audit.Strong, "scale": audit.Strong} {
		if x := strand(s, on); x.Strength != want {
			t.Errorf("%+v, want %s", x, want)
		}
	}
	if x := strand(s, "books"); x.Says != "planned 12, scanned 12, counted 12" {
		t.Error(x.Says)
	}
	if x := strand(s, "seal"); !strings.Contains(x.Says, "000409") {
		t.Error(x.Says)
	}
	s, err = fold.ShortEvidence("C-14", "BND", 1)
	if err != nil || s.Strength != audit.Weak || math.Abs(s.Miss.Float()-.035) > .001 ||
		!strings.Contains(s.Defeat, "the scale cannot see 1 BND (96 g, σ 26.6 g, missed in 3.5 %)") {
		t.Errorf("%+v, %v", s, err)
	}
	// Three bundles weigh nearly what one plush does.
	if s, _ = fold.ShortEvidence("C-14", "BND", 3); len(s.Unknown) != 2 || s.Unknown[1] != "1 PLU too many in place of them would have weighed alike" {
		t.Errorf("%q", s.Unknown)
	}
	var b strings.Builder
	if err := s.Text(&b); err != nil || !strings.Contains(b.String(), "persons  fair    20 counted by tobi, who also packed it") {
		t.Error(b.String())
	}
}

// TestShortEvidenceTurns: what is missing from the evidence is what defeats it.
func TestShortEvidenceTurns(t *testing.T) {
	day := func() *floor { return lanternDay(t) }
	for _, c := range []struct {
		name     string
		fold     *audit.Fold
		carton   string
		item     string
		n        int
		strength audit.Strength
		defeat   string
	}{
		{"short as counted", day().until("17:41:00"), "C-07", "PLU", 1, audit.Weak, "our own books say that some were missing"},
		{"the reading fits", day().until("17:41:00"), "C-07", "PLU", 1, audit.Weak, "the reading fits the claim"},
		{"not sealed yet", day().until("17:41:00"), "C-07", "PLU", 1, audit.Weak, "it has no seal"},
		{"sealed, still here", day().until("17:50:00"), "C-11", "DSC", 2, audit.Fair, "seal 000409 is on; it has not left"},
	} {
		s, err := c.fold.ShortEvidence(c.carton, c.item, c.n)
		if err != nil || s.Strength != c.strength || !strings.Contains(s.Defeat, c.defeat) {
			t.Errorf("%s: %+v, %v", c.name, s, err)
		}
	}
	// The scale found wrong the same evening.
	f := day()
	f.now = at(t, "19:00")
	f.do("BOARD", "maren", &events.ScaleChecked{Scale: "SC-1", Ref: 5 * prep.Kilogram, Read: 5240 * prep.Gram, OK: false})
	s, err := f.read().ShortEvidence("C-11", "DSC", 2)
	if err != nil || s.Strength != audit.Fair || !strings.Contains(s.Defeat, "scale SC-1 was found wrong") {
		t.Errorf("%+v, %v", s, err)
	}
	var none *audit.NoSuch
	var bad *prep.InputError
	fold := day().read()
	if _, err := fold.ShortEvidence("C-99", "DSC", 1); !errors.As(err, &none) {
		t.Error(err)
	}
	if _, err := fold.ShortEvidence("C-11", "PLU", 1); !errors.As(err, &none) {
		t.Error(err)
	}
	if _, err := fold.ShortEvidence("C-11", "DSC", 0); !errors.As(err, &bad) {
		t.Error(err)
	}
}
