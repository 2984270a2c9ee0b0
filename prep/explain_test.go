package prep

import (
	"slices"
	"strings"
	"testing"
)

// TestExplainSaysEverything: each rule is told as fired or not, with a reason;
// each step names the rules that ask for it; the cost is the sum of its lines.
func TestExplainSaysEverything(t *testing.T) {
	b := demoBook(t, "r4")
	for _, it := range demoItems(t) {
		e := Explain(b, it)
		if len(e.Rules) != len(b.Rules) || len(e.Steps) != len(e.Recipe.Steps) {
			t.Errorf("%s: %d of %d rules, %d of %d steps", it.Item, len(e.Rules), len(b.Rules), len(e.Steps), len(e.Recipe.Steps))
		}
		for _, r := range e.Rules {
			fired := slices.ContainsFunc(e.Recipe.Hits, func(h Hit) bool { return h.Rule == r.Rule })
			if r.Why == "" || r.Fired != fired {
				t.Errorf("%s: %+v", it.Item, r)
			}
		}
		for _, s := range e.Steps {
			if !slices.Contains(s.Rules, s.Step.Rule) || s.Because == "" {
				t.Errorf("%s: step %s: %+v", it.Item, s.Step.ID, s)
			}
		}
		if e.Cost != b.Materials.PrepCost(e.Recipe) {
			t.Errorf("%s: cost %s", it.Item, e.Cost)
		}
		text := e.String()
		for _, c := range e.Recipe.Cautions {
			if at, step := strings.Index(text, c.Text), strings.Index(text, "\n 1 "); at < 0 || step >= 0 && at > step {
				t.Errorf("%s: the caution %q does not come before the steps", it.Item, c.Text)
			}
		}
	}
}

func TestExplainCardSticker(t *testing.T) {
	for _, it := range demoItems(t) {
		if it.Item != "PUZ" {
			continue
		}
		e := Explain(demoBook(t, "r4"), it)
		for _, s := range e.Steps {
			if s.Step.Means == Remover || strings.Contains(strings.ToLower(s.Step.Text), "remover") {
				t.Errorf("a step with remover on card: %q", s.Step.Text)
			}
		}
		at := slices.IndexFunc(e.Rules, func(r RuleWhy) bool { return r.Rule == "P-09" })
		if r := e.Rules[at]; !r.Fired || r.Why != "surface_under_sticker is card, sticker is paper" {
			t.Errorf("%+v", r)
		}
		return
	}
	t.Fatal("no PUZ")
}

// TestExplainTellsWhatWasLeftOut: a prohibition is named beside what it took.
func TestExplainTellsWhatWasLeftOut(t *testing.T) {
	e := Explain(DefaultRulebook(), with(func(it *Item) {
		it.Attrs.Surface, it.Attrs.Sticker, it.Attrs.HeatSensitive = SurfaceCard, StickerPaper, Yes
	}))
	want := Dropped{What: "step warm-card", Rule: "P-09", Because: "P-25 forbids warm-air", Severity: Should}
	if !slices.Contains(e.Recipe.Dropped, want) || e.Recipe.Heat || !e.Recipe.Open() {
		t.Errorf("%+v", e.Recipe.Dropped)
	}
	if !strings.Contains(e.String(), "left out step warm-card of P-09: P-25 forbids warm-air\n") {
		t.Errorf("got\n%s", e)
	}
}

func TestDiffSaysWhatGoesAndComes(t *testing.T) {
	changes := Diff(demoBook(t, "r4"), demoBook(t, "r5"), demoItems(t))
	if len(changes) != 2 || changes[0].FromCost != 65*MinorUnit || changes[0].ToCost != 81*MinorUnit {
		t.Fatalf("%+v", changes)
	}
	for _, line := range []string{"- use 1 box-7x5x4", "+ use 1 box-8x6x4h", "- use 1 bubble-small, layers: 1", "+ use 2 bubble-small, layers: 2"} {
		if !slices.Contains(changes[0].Lines, line) {
			t.Errorf("%q is not among %q", line, changes[0].Lines)
		}
	}
	if same := Diff(demoBook(t, "r5"), demoBook(t, "r5"), demoItems(t)); len(same) > 0 {
		t.Errorf("a rulebook differs from itself: %v", same)
	}
}
