package prep

import (
	"os"
	"slices"
	"strings"
	"testing"
)

// TestEachRuleHitsAndMisses wants for each rule of the shipped rulebook goods
// that make it fire and goods that do not.
func TestEachRuleHitsAndMisses(t *testing.T) {
	src, err := os.ReadFile("testdata/rulebook/cases.yaml")
	if err != nil {
		t.Fatal(err)
	}
	items, err := ParseItems("cases.yaml", src)
	if err != nil {
		t.Fatal(err)
	}
	b := DefaultRulebook()
	cases := map[string]bool{}
	for _, it := range items {
		cases[it.Item] = slices.ContainsFunc(b.Recipe(it).Hits, func(h Hit) bool {
			return strings.HasPrefix(it.Item, strings.ToUpper(h.Rule)+"-")
		})
	}
	for _, r := range b.Rules {
		id := strings.ToUpper(r.ID)
		if fired, ok := cases[id+"-HIT"]; !ok || !fired {
			t.Errorf("%s: case %v, fired %v", id+"-HIT", ok, fired)
		}
		if fired, ok := cases[id+"-MISS"]; !ok || fired {
			t.Errorf("%s: case %v, fired %v", id+"-MISS", ok, fired)
		}
	}
	if len(items) != 2*len(b.Rules) {
		t.Errorf("%d cases for %d rules", len(items), len(b.Rules))
	}
}

// plain is an item about which everything harmless is known.
func plain() Item {
	it := Item{Item: "X", Name: "x", Trace: TraceClass, UnitG: 300 * Gram, UnitSD: 3 * Gram, Dims: Dims{200 * MM, 150 * MM, 60 * MM}}
	for i := range attributes {
		if at := &attributes[i]; at.count == nil {
			*at.word(&it.Attrs) = 1
		}
	}
	it.Attrs.PrintedWarnings, it.Attrs.Listed, it.Attrs.ItemLabel = PrintedNone, Yes, Yes
	return it
}

func with(change func(*Item)) Item {
	it := plain()
	change(&it)
	return it
}

// TestTradeAnswers are the answers that the trade gives (common practice).
func TestTradeAnswers(t *testing.T) {
	b := DefaultRulebook()
	inch := func(l, w, h float64) Dims {
		return Dims{Length(l * float64(Inch)), Length(w * float64(Inch)), Length(h * float64(Inch))}
	}
	figure := with(func(it *Item) {
		it.Attrs.Outer, it.Attrs.Collectible, it.Dims = OuterWindow, Yes, inch(6.25, 4.5, 3.5)
	})
	tray := func(d Dims) Item {
		return with(func(it *Item) { it.Attrs.Outer, it.Dims = OuterOpen, d })
	}
	set := func(d Dims) Item { return with(func(it *Item) { it.Set, it.Dims = 2, d }) }
	for _, c := range []struct {
		name string
		item Item
		want func(Recipe) bool
	}{
		{"a closed box in good order needs only its label", plain(), func(r Recipe) bool {
			return r.Name == "plain label" && labels(r) == "item-label" && materials(r) == "label-item" && r.Labels[0].Where == "flat and whole, over the retail barcode"
		}},
		{"a window box is wrapped, boxed, kept sealed, labelled outside and told apart", figure, func(r Recipe) bool {
			return materials(r) == "bubble-small box-7x5x4 label-item label-keep-sealed" && r.PairCheck &&
				labels(r) == "item-label keep-sealed" && strings.Contains(r.Labels[0].Where, "outside the outer box")
		}},
		{"that adds 25 to 30 cents to a bare label", figure, func(r Recipe) bool {
			more := b.Materials.PrepCost(r) - b.Materials.PrepCost(b.Recipe(plain()))
			return more >= 25*MinorUnit && more <= 30*MinorUnit
		}},
		{"tiny goods go into a 3 × 5 bag", tray(inch(3, 1.5, 0.5)), func(r Recipe) bool { return uses(r, "bag-3x5") }},
		{"a smaller toy goes into a 10 × 12 bag", tray(inch(8, 7, 2)), func(r Recipe) bool { return uses(r, "bag-10x12") }},
		{"a large toy goes into a 14 × 20 bag", tray(inch(11, 7, 4.5)), func(r Recipe) bool { return uses(r, "bag-14x20") }},
		{"a bag that just fits is taped", tray(inch(12, 9, 5)), func(r Recipe) bool {
			_, taped := r.Step("tape-across-seal")
			return taped && uses(r, "tape-clear") && uses(r, "bag-14x20")
		}},
		{"the label of a bagged item may sit anywhere flat and visible", tray(inch(8, 7, 2)), func(r Recipe) bool {
			return r.Labels[0].Where == "flat, clear and visible, outside the bag"
		}},
		{"a set in a bag with the words printed needs no second label", set(inch(8, 7, 2)), func(r Recipe) bool {
			return uses(r, "bag-10x12") && labels(r) == "item-label"
		}},
		{"a set in another bag does", set(inch(6, 4, 1)), func(r Recipe) bool { return labels(r) == "item-label sold-as-set" }},
		{"a wide bag without a printed warning gets one", tray(inch(10.5, 5.5, 4)), func(r Recipe) bool {
			return uses(r, "bag-6x4x16") && labels(r) == "item-label suffocation-warning"
		}},
		{"a damaged box goes to another channel", with(func(it *Item) { it.Attrs.Grade = GradeC }), func(r Recipe) bool {
			return r.Verdict() == VerdictDivert && r.Name == "damaged pack" && !r.Open()
		}},
		{"so do goods that the destination cannot list", with(func(it *Item) { it.Attrs.Listed = No }), func(r Recipe) bool {
			return r.Verdict() == VerdictDivert && r.Name == "not listed"
		}},
		{"but what is hazardous is held, damaged or not", with(func(it *Item) { it.Attrs.Grade, it.Attrs.Aerosol = GradeC, Yes }), func(r Recipe) bool {
			return r.Verdict() == VerdictHold && len(r.Stop) == 2 && len(r.Steps) == 0 && r.Cautions[0].Signal == SignalDanger
		}},
	} {
		if r := b.Recipe(c.item); !c.want(r) {
			t.Errorf("%s:\n%s", c.name, Explain(b, c.item))
		}
	}
	if label, _ := b.Materials.Find("label-item"); label.Width != Inch*9/4 || label.Length != Inch*5/4 {
		t.Error("the usual item label is 2¼ × 1¼ in")
	}
	if box, _ := b.Materials.Find("box-7x5x4"); box.Price < 20*MinorUnit || box.Price > 40*MinorUnit {
		t.Error("an outer box of that size costs about 20 to 40 cents")
	}
}

func labels(r Recipe) string {
	return strings.Join(idsOf(r.Labels, func(l LabelNeed) string { return l.ID }), " ")
}

func materials(r Recipe) string {
	return strings.Join(idsOf(r.Materials, func(m MaterialNeed) string { return m.Material }), " ")
}

func uses(r Recipe, material string) bool {
	return slices.ContainsFunc(r.Materials, func(m MaterialNeed) bool { return m.Material == material })
}

// TestUnknownIsNotNo: every safety attribute stops at triage while unknown,
// and so do the questions that the rulebook adds.
func TestUnknownIsNotNo(t *testing.T) {
	b := DefaultRulebook()
	if r := b.Recipe(plain()); !r.Open() {
		t.Fatalf("the harmless item is held: %v", r.Ask)
	}
	for _, name := range append(SafetyAttrs(), b.AskFor...) {
		it := plain()
		if err := SetAttr(&it.Attrs, name, unknownWord); err != nil {
			t.Fatal(err)
		}
		r := b.Recipe(it)
		if r.Open() || r.Verdict() != VerdictHold || len(r.Steps) > 0 {
			t.Errorf("%s unknown: verdict %s with %d steps", name, r.Verdict(), len(r.Steps))
		}
		if !slices.ContainsFunc(r.Ask, func(q string) bool { return strings.Contains(q, AttrQuestion(name)) }) {
			t.Errorf("%s unknown: nobody asks %q but %q", name, AttrQuestion(name), r.Ask)
		}
	}
	if r := b.Recipe(Item{}); r.Open() {
		t.Error("an item of which nothing is known may be worked on")
	}
}

// TestHeavierCautionStays: giving an attribute a harmful answer in place of
// its harmless one never lightens a caution about injury, unless the caution
// was about a means that may no longer be used.
func TestHeavierCautionStays(t *testing.T) {
	b := DefaultRulebook()
	d := draws(7)
	for range 4000 {
		it := d.item()
		for i := range attributes {
			at := &attributes[i]
			if at.count != nil || at.many || at.name == "outer" || at.name == "surface_under_sticker" || at.name == "listed" || at.name == "item_label" {
				continue // no answer of these is the harmless one
			}
			before, after := it, it
			*at.word(&before.Attrs) = 1
			*at.word(&after.Attrs) = uint8(2 + d.below(len(at.words)-2))
			stays(t, b, b.Recipe(before), b.Recipe(after), at.name)
		}
	}
}

func stays(t *testing.T, b *Rulebook, before, after Recipe, name string) {
	t.Helper()
	for _, c := range before.Cautions {
		if c.Signal == SignalNotice {
			continue
		}
		means := Means("")
		for _, word := range b.Cautions {
			if word.ID == c.ID {
				means = word.Means
			}
		}
		gone := means == WarmAir && !after.Heat || means == Remover && !after.Solvent
		still := slices.ContainsFunc(after.Cautions, func(a Caution) bool { return a.About == c.About && a.Signal >= c.Signal })
		if !still && !gone {
			t.Fatalf("%s answered: %s %q is gone\nbefore %v\nafter %v", name, c.Signal, c.Text, before.Hits, after.Hits)
		}
	}
}

// TestProhibitionWins forbids each means in turn by one rule more and finds
// it in no recipe, in no step and in no removal method.
func TestProhibitionWins(t *testing.T) {
	for _, m := range []Means{ColdPeel, WarmAir, Remover, Scraper, UsesBag, UsesBox, UsesTape} {
		b := DefaultRulebook()
		b.Rules = append(b.Rules, Rule{ID: "P-99", Title: "Not here", When: Condition{Always: true}, Forbid: []Means{m}})
		if err := b.compile(); err != nil {
			t.Fatal(err)
		}
		d := draws(11)
		for range 4000 {
			it := d.item()
			r := b.Recipe(it)
			for _, s := range r.Steps {
				if s.Means == m {
					t.Fatalf("%s is forbidden, yet %s stays in\n%s", m, s.ID, Explain(b, it))
				}
			}
			if slices.ContainsFunc(r.RemovalMethods, func(x Removal) bool { return x.Means == m }) || (m == WarmAir && r.Heat) || (m == Remover && r.Solvent) {
				t.Fatalf("%s is forbidden, yet allowed\n%s", m, Explain(b, it))
			}
			if m == UsesBox && slices.ContainsFunc(r.Materials, func(u MaterialNeed) bool { return u.Kind == KindBox }) {
				t.Fatalf("a box is forbidden, yet used\n%s", Explain(b, it))
			}
			for _, drop := range r.Dropped {
				if drop.Severity >= Must && r.Open() {
					t.Fatalf("a must was dropped and work opened: %+v", drop)
				}
			}
		}
	}
}

// TestRecipeDoesNotDependOnRuleOrder: rules are united, not run one after another.
func TestRecipeDoesNotDependOnRuleOrder(t *testing.T) {
	a, b := DefaultRulebook(), DefaultRulebook()
	slices.Reverse(b.Rules)
	if err := b.compile(); err != nil {
		t.Fatal(err)
	}
	d := draws(13)
	for range 4000 {
		it := d.item()
		x, y := a.Recipe(it), b.Recipe(it)
		sortForComparison(&x)
		sortForComparison(&y)
		if x.Digest() != y.Digest() {
			t.Fatalf("%s\n%s", Explain(a, it), Explain(b, it))
		}
	}
}

// sortForComparison takes out what may follow the order of the rules: which
// of equal cautions is shown, and the order of lists.
func sortForComparison(r *Recipe) {
	slices.Sort(r.Ask)
	slices.SortFunc(r.Stop, func(a, b Hit) int { return strings.Compare(a.Rule, b.Rule) })
	slices.SortFunc(r.Materials, func(a, b MaterialNeed) int { return strings.Compare(a.Material, b.Material) })
	for i := range r.Cautions {
		r.Cautions[i].ID, r.Cautions[i].Text = "", ""
	}
	slices.SortFunc(r.Cautions, func(a, b Caution) int { return strings.Compare(a.About, b.About) })
}
