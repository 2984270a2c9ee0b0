package prep

import (
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"
)

func demoBook(t testing.TB, rev string) *Rulebook {
	t.Helper()
	name := "../testdata/demo/rulebook-" + rev + ".yaml"
	src, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	b, err := ParseRulebook(name, src)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func demoItems(t testing.TB) []Item {
	t.Helper()
	src, err := os.ReadFile("../testdata/demo/items.yaml")
	if err != nil {
		t.Fatal(err)
	}
	items, err := ParseItems("items.yaml", src)
	if err != nil {
		t.Fatal(err)
	}
	return items
}

// TestDemoRecipes holds the whole of every recipe of the demo day, in words,
// against a kept and reviewed text.
func TestDemoRecipes(t *testing.T) {
	var b strings.Builder
	for _, it := range demoItems(t) {
		text := Explain(demoBook(t, "r4"), it).String()
		for line := range strings.Lines(text) {
			if !strings.HasPrefix(line, "not ") {
				b.WriteString(line)
			}
		}
		b.WriteByte('\n')
	}
	for _, c := range Diff(demoBook(t, "r4"), demoBook(t, "r5"), demoItems(t)) {
		b.WriteString("from r4 to r5: " + c.Item + " " + c.FromCost.String() + " → " + c.ToCost.String() + "\n")
		b.WriteString("  " + strings.Join(c.Lines, "\n  ") + "\n")
	}
	const golden = "../testdata/demo/recipes.txt"
	if *update {
		if err := os.WriteFile(golden, []byte(b.String()), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	if b.String() != string(want) {
		t.Errorf("got:\n%s", b.String())
	}
}

func TestDemoNames(t *testing.T) {
	names := map[string]string{
		"MG3": "window figure", "MG4": "window figure", "TRY": "open tray bag", "PUZ": "card sticker",
		"GLD": "plastic sticker", "DSC": "soft case", "PLU": "plush bag", "MUG": "glass set",
		"WSH": "liquid with date", "KNF": "sharp", "BND": "bundle", "SPC": "single component", "RAD": "hazard hold",
	}
	items := demoItems(t)
	if len(items) != len(names) {
		t.Fatalf("%d items", len(items))
	}
	for _, rev := range []string{"r4", "r5"} {
		b := demoBook(t, rev)
		for _, it := range items {
			r := b.Recipe(it)
			if r.Name != names[it.Item] {
				t.Errorf("%s under %s: %q, want %q", it.Item, rev, r.Name, names[it.Item])
			}
			if hold := it.Item == "RAD"; r.Open() == hold || (r.Verdict() == VerdictHold) != hold {
				t.Errorf("%s under %s: verdict %s, stop %v, ask %v", it.Item, rev, r.Verdict(), r.Stop, r.Ask)
			}
			if boxed := slices.Contains([]string{"MG3", "MG4", "MUG"}, it.Item); r.PairCheck != boxed {
				t.Errorf("%s under %s: pair check %v", it.Item, rev, r.PairCheck)
			}
		}
	}
}

func TestDemoRevisionsChangeOnlyWindowFigures(t *testing.T) {
	var changed []string
	for _, c := range Diff(demoBook(t, "r4"), demoBook(t, "r5"), demoItems(t)) {
		changed = append(changed, c.Item)
	}
	if !slices.Equal(changed, []string{"MG3", "MG4"}) {
		t.Errorf("changed: %v", changed)
	}
}

// TestDemoRulebooksFollowTheShipped keeps the demo's rulebooks from drifting:
// they are the shipped one but for the window figures' materials and cautions,
// two cautions more and their own prices.
func TestDemoRulebooksFollowTheShipped(t *testing.T) {
	shipped := DefaultRulebook()
	for _, rev := range []string{"r4", "r5"} {
		b := demoBook(t, rev)
		if !reflect.DeepEqual(b.Steps, shipped.Steps) || !reflect.DeepEqual(b.Names, shipped.Names) || !reflect.DeepEqual(b.Labels, shipped.Labels) {
			t.Errorf("%s: steps, names or labels differ", rev)
		}
		for i, r := range b.Rules {
			if want := shipped.Rules[i]; r.ID != "P-08" && !reflect.DeepEqual(r, want) {
				t.Errorf("%s: %s differs", rev, r.ID)
			}
		}
		for i, m := range b.Materials.Materials {
			m.Price = shipped.Materials.Materials[i].Price
			if !reflect.DeepEqual(m, shipped.Materials.Materials[i]) {
				t.Errorf("%s: %s differs in more than its price", rev, m.ID)
			}
		}
	}
}

// TestDemoMaterialCost gives the material part of the unit costs that the
// demo floor reckons with, in minor units: the labour is another matter.
func TestDemoMaterialCost(t *testing.T) {
	items := map[string]Item{}
	for _, it := range demoItems(t) {
		items[it.Item] = it
	}
	for _, c := range []struct {
		rev, item string
		minor     Money
	}{
		{"r4", "MG3", 65 * MinorUnit}, {"r5", "MG3", 81 * MinorUnit},
		{"r4", "PUZ", 3 * MinorUnit}, {"r4", "TRY", 21 * MinorUnit}, {"r4", "KNF", 15 * MinorUnit},
	} {
		b := demoBook(t, c.rev)
		if got := b.Materials.PrepCost(b.Recipe(items[c.item])); got != c.minor {
			t.Errorf("%s under %s: %s, want %s", c.item, c.rev, got, c.minor)
		}
	}
}

// TestDemoRemoval: what may come near which surface on the demo day.
func TestDemoRemoval(t *testing.T) {
	b := demoBook(t, "r4")
	for _, it := range demoItems(t) {
		r := b.Recipe(it)
		if want := it.Item == "PUZ"; r.Heat != want {
			t.Errorf("%s: warm air %v", it.Item, r.Heat)
		}
		if want := it.Item == "GLD" || it.Item == "DSC"; r.Solvent != want || (r.DryWait == 180) != want {
			t.Errorf("%s: remover %v, dry wait %d s", it.Item, r.Solvent, r.DryWait)
		}
	}
}
