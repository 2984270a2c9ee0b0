package prep

import "testing"

func TestShippedRulebookIsProved(t *testing.T) {
	for _, b := range []*Rulebook{DefaultRulebook(), demoBook(t, "r4"), demoBook(t, "r5")} {
		for _, f := range Check(b) {
			t.Errorf("r%d: %s %s: %s (%s)", b.Rev, f.Kind, f.Rule, f.Text, f.Witness)
		}
	}
}
