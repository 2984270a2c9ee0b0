package prep

import (
	"fmt"
	"slices"
	"testing"
)

// randomBook draws a small rulebook that hangs together but may contradict
// itself: rules that allow, forbid and want means on a few attributes.
func (d *draws) randomBook() *Rulebook {
	b := &Rulebook{Rev: 1, Otherwise: "plain label",
		Materials: Catalogue{Materials: []Material{
			{ID: "bag-big", Kind: KindBag, Unit: "each", Width: 900 * MM, Length: 900 * MM, Film: MM / 10},
			{ID: "box-a", Kind: KindBox, Unit: "each", Inner: Dims{700 * MM, 700 * MM, 700 * MM}},
			{ID: "box-b", Kind: KindBox, Unit: "each", Inner: Dims{800 * MM, 800 * MM, 800 * MM}},
		}}}
	for _, m := range allMeans {
		b.Steps = append(b.Steps, StepWord{ID: "do-" + string(m), Phase: PhaseProtect, Say: "Do it.", Check: CheckDone, Means: m})
	}
	for i := range 2 + d.below(5) {
		r := Rule{ID: fmt.Sprintf("P-%02d", i), Title: "x", When: d.condition()}
		for _, m := range allMeans {
			switch d.below(40) {
			case 0:
				r.Allow = append(r.Allow, m)
			case 1:
				r.Forbid = append(r.Forbid, m)
			case 2:
				r.Must = append(r.Must, "do-"+string(m))
			case 3:
				r.Should = append(r.Should, "do-"+string(m))
			}
		}
		if use := d.below(12); use < 4 {
			r.Materials = []Use{[]Use{{Pick: KindBag}, {Pick: KindBox}, {Material: "box-a"}, {Material: "box-b"}}[use]}
		}
		b.Rules = append(b.Rules, r)
	}
	if d.below(2) == 0 { // one that reads what the recipe uses
		r := Rule{ID: "P-60", Title: "x", When: Condition{All: []Test{{Attr: "uses", Is: []string{facts[factUses].words[1+d.below(4)]}}}}}
		r.Must = []string{"do-" + string(allMeans[d.below(len(allMeans))])}
		b.Rules = append(b.Rules, r)
	}
	if d.below(5) > 0 {
		b.Rules = append(b.Rules, Rule{ID: "P-50", Title: "x", When: Condition{Always: true}, Allow: []Means{ColdPeel}})
	}
	return b
}

func (d *draws) condition() Condition {
	var c Condition
	for _, name := range []string{"sticker", "surface_under_sticker", "heat_sensitive", "fragile"} {
		if d.below(2) == 0 {
			continue
		}
		all := AttrWords(name)
		t := Test{Attr: name}
		for range 1 + d.below(len(all)-1) {
			if w := all[d.below(len(all))]; !slices.Contains(t.Is, w) {
				t.Is = append(t.Is, w)
			}
		}
		c.All = append(c.All, t)
	}
	if d.below(3) == 0 {
		c.All = append(c.All, Test{Attr: "mass_g", Number: []string{"over 5 kg", "at most 5 kg", "from 2 kg to 9 kg"}[d.below(3)]})
	}
	c.Always = len(c.All) == 0
	return c
}

// TestProofAgreesWithTrying compares the proof by decomposition with trying
// every combination of the attributes in full, on rulebooks drawn at random:
// what one finds the other must find, contradiction by contradiction.
func TestProofAgreesWithTrying(t *testing.T) {
	const seed = 99
	d := draws(seed)
	sound, broken := 0, 0
	for n := range 200 {
		b := d.randomBook()
		if err := b.compile(); err != nil {
			t.Fatal(err)
		}
		proved := map[string]bool{}
		for _, f := range Check(b) {
			if f.Kind == FoundConflict {
				proved[f.Text[len("the rules contradict each other: "):]] = true
			}
		}
		tried := tryAll(b)
		for what := range tried {
			if !proved[what] {
				t.Errorf("seed %d, rulebook %d: trying finds %q, the proof does not\n%+v", seed, n, what, b.Rules)
			}
		}
		for what := range proved {
			if !tried[what] {
				t.Errorf("seed %d, rulebook %d: the proof finds %q, trying does not\n%+v", seed, n, what, b.Rules)
			}
		}
		if len(tried) == 0 {
			sound++
		} else {
			broken++
		}
	}
	t.Logf("%d sound, %d contradictory", sound, broken)
	if sound < 20 || broken < 20 {
		t.Errorf("%d sound and %d contradictory rulebooks: the draw proves little", sound, broken)
	}
}

// tryAll works out every combination of the attributes that randomBook reads.
func tryAll(b *Rulebook) map[string]bool {
	found := map[string]bool{}
	for _, grams := range []Mass{0, 1 * Kilogram, 2 * Kilogram, 5 * Kilogram, 6 * Kilogram, 9 * Kilogram, 10 * Kilogram} {
		for sticker := StickerUnknown; sticker <= StickerSecurity; sticker++ {
			for surface := SurfaceUnknown; surface <= SurfaceFoilPrint; surface++ {
				for heat := YesNoUnknown; heat <= Yes; heat++ {
					for fragile := FragileUnknown; fragile <= FragileGlass; fragile++ {
						it := plain()
						it.UnitG = grams
						it.Attrs.Sticker, it.Attrs.Surface, it.Attrs.HeatSensitive, it.Attrs.Fragile = sticker, surface, heat, fragile
						w := b.making(b.made, knownOf(it))
						w.item = it
						w.decide()
						for _, c := range w.conflicts {
							found[c.what] = true
						}
					}
				}
			}
		}
	}
	return found
}

// TestProofRefusesTangles: a rule that reads more than can be walked is no
// reason to hang.
func TestProofRefusesTangles(t *testing.T) {
	b := DefaultRulebook()
	r := Rule{ID: "P-77", Title: "Everything at once", Forbid: []Means{WarmAir}}
	for i := range attributes {
		if attributes[i].word != nil {
			r.When.All = append(r.When.All, Test{Attr: attributes[i].name, Is: attributes[i].words[1:2]})
		}
	}
	b.Rules = append(b.Rules, r)
	if found := Check(b); len(found) == 0 || !slices.ContainsFunc(found, func(f Finding) bool { return f.Kind == FoundTangled }) {
		t.Errorf("found %v", found)
	}
}
