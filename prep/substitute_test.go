package prep

import (
	"slices"
	"testing"
)

func stepIDs(r Recipe) (out []string) {
	for _, s := range r.Steps {
		out = append(out, s.ID)
	}
	return out
}

func demoItem(t *testing.T, id string) Item {
	t.Helper()
	for _, it := range demoItems(t) {
		if it.Item == id {
			return it
		}
	}
	t.Fatal("no " + id)
	return Item{}
}

// TestRecipeWithRoomierBox: a box with room to spare brings the filling that a
// recipe with a snug one does without.
func TestRecipeWithRoomierBox(t *testing.T) {
	b, it := demoBook(t, "r4"), demoItem(t, "MG3")
	plain, roomy := b.Recipe(it), b.RecipeWith(it, map[string]string{"box-7x5x4": "box-8x6x4"})
	if !roomy.Open() || !slices.ContainsFunc(roomy.Materials, func(m MaterialNeed) bool { return m.Material == "box-8x6x4" }) {
		t.Fatalf("%+v", roomy)
	}
	more := slices.DeleteFunc(stepIDs(roomy), func(s string) bool { return slices.Contains(stepIDs(plain), s) })
	if len(more) != 1 || !slices.Contains(stepIDs(roomy), more[0]) {
		t.Errorf("steps that come with the roomier box: %q", more)
	}
	if same := b.RecipeWith(it, map[string]string{"bag-10x12": "bag-14x20"}); same.Digest() != plain.Digest() {
		t.Error("a material that the recipe does not use changes it")
	}
}

// TestRecipeWithThickerWrap: what no longer goes in holds the work.
func TestRecipeWithThickerWrap(t *testing.T) {
	b, it := demoBook(t, "r4"), demoItem(t, "MG3")
	r := b.RecipeWith(it, map[string]string{"bubble-small": "bubble-large"})
	for _, m := range r.Materials { // picked anew: the box holds the thicker wrap
		if box, _ := b.Materials.Find(m.Material); m.Kind == KindBox && !FitBox(Wrapped(it.Dims, 5*Inch/16, 1), []Box{box.Box()})[0].Usable() {
			t.Errorf("%s crushes it", m.Material)
		}
	}
	crush := b.RecipeWith(it, map[string]string{"box-7x5x4": "box-7x5x4", "box-8x6x4": "box-7x5x4", "box-8x6x4h": "box-7x5x4", "bubble-small": "bubble-large"})
	if crush.Open() {
		t.Errorf("5/16 in wrap in the tighter box: %+v", crush.Materials)
	}
}

// TestRecipeWithPlainBag: a bag without the printed warning brings the label.
func TestRecipeWithPlainBag(t *testing.T) {
	b, it := demoBook(t, "r4"), demoItem(t, "TRY")
	plain := b.Recipe(it)
	bag := ""
	for _, m := range plain.Materials {
		if m.Kind == KindBag {
			bag = m.Material
		}
	}
	if bag == "" {
		t.Fatalf("no bag: %+v", plain.Materials)
	}
	b.Materials.Materials = append(b.Materials.Materials, Material{ID: "bag-15x21", Kind: KindBag, Unit: "each", Width: 15 * Inch, Length: 21 * Inch, Film: 38})
	r := b.RecipeWith(it, map[string]string{bag: "bag-15x21"})
	if !r.Open() || !slices.ContainsFunc(r.Labels, func(l LabelNeed) bool { return l.ID == "suffocation-warning" }) {
		t.Errorf("%s, then a bag without words: labels %+v, ask %q", bag, r.Labels, r.Ask)
	}
	if slices.ContainsFunc(plain.Labels, func(l LabelNeed) bool { return l.ID == "suffocation-warning" }) {
		t.Errorf("%s has the warning printed, and gets its label", bag)
	}
	if same := b.RecipeWith(it, map[string]string{bag: "tape-clear"}); same.Digest() != plain.Digest() {
		t.Error("tape takes the place of a bag")
	}
}
