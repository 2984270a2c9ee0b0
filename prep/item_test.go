package prep

import (
	"encoding/json"
	"errors"
	"slices"
	"strings"
	"testing"
)

func TestAttributeTable(t *testing.T) {
	seen := map[string]bool{}
	for i := range facts {
		f := &facts[i]
		if seen[f.name] || f.name == "" {
			t.Errorf("fact %d has no name of its own: %q", i, f.name)
		}
		seen[f.name] = true
		if len(f.words) > 16 {
			t.Errorf("%s has %d words; conditions keep 16", f.name, len(f.words))
		}
	}
	for i := range attributes {
		at := &attributes[i]
		if (at.word == nil) == (at.count == nil) || at.ask == "" {
			t.Errorf("%s is neither word nor number, or has no question", at.name)
		}
		if at.word != nil && at.words[0] != unknownWord {
			t.Errorf("%s: the first word is %q", at.name, at.words[0])
		}
	}
	want := []string{"liquid", "sharp", "battery", "hazard_pictogram", "aerosol", "magnet"}
	if got := SafetyAttrs(); !slices.Equal(got, want) {
		t.Errorf("safety: %v", got)
	}
}

func TestAttrsJSON(t *testing.T) {
	a := Attrs{Outer: OuterWindow, Collectible: Yes, VolumeML: 300, PrintedWarnings: PrintedSmallParts | PrintedCare, Magnet: MagnetNo}
	b, err := json.Marshal(a)
	if err != nil {
		t.Fatal(err)
	}
	const want = `{"outer":"window","collectible":"yes","volume_ml":300,"magnet":"no","printed_warnings":["small-parts","care"]}`
	if string(b) != want {
		t.Errorf("got  %s\nwant %s", b, want)
	}
	d := draws(3)
	for range 2000 {
		a := d.item().Attrs
		b, err := json.Marshal(a)
		if err != nil {
			t.Fatal(err)
		}
		var back Attrs
		if err := json.Unmarshal(b, &back); err != nil || back != a {
			t.Fatalf("%s came back as %+v: %v", b, back, err)
		}
	}
	var bad Attrs
	err = json.Unmarshal([]byte(`{"outer":"windoe","colectible":"yes","sharp":true}`), &bad)
	for _, part := range []string{"did you mean window?", "did you mean collectible?", `"true" is not a word for sharp`} {
		if err == nil || !strings.Contains(err.Error(), part) {
			t.Errorf("%v does not say %q", err, part)
		}
	}
}

func TestSetAttr(t *testing.T) {
	for _, c := range []struct{ name, word, want, refused string }{
		{"outer", "Window", "window", ""},
		{"outer", " closed ", "closed", ""},
		{"outer", "", "unknown", ""},
		{"battery", "unknown", "unknown", ""},
		{"battery", "litium", "", "did you mean lithium?"},
		{"volume_ml", "300", "300", ""},
		{"volume_ml", "0300", "300", ""},
		{"volume_ml", "3e2", "", "not a whole number"},
		{"volume_ml", "-5", "", "not a whole number"},
		{"volume_ml", "12.5", "", ""},
		{"printed_warnings", "small-parts; care", "small-parts, care", ""},
		{"printed_warnings", "none", "none", ""},
		{"printed_warnings", "none, care", "", "none and something"},
		{"hazard", "no", "", "not an attribute"},
		{"magnets", "no", "", "did you mean magnet?"},
	} {
		var a Attrs
		err := SetAttr(&a, c.name, c.word)
		if c.want == "" {
			var in *InputError
			if !errors.As(err, &in) || !strings.Contains(err.Error(), c.refused) || a != (Attrs{}) {
				t.Errorf("%s %q: %v, %+v", c.name, c.word, err, a)
			}
			continue
		}
		if got := GetAttr(a, c.name); err != nil || got != c.want {
			t.Errorf("%s %q: %q, %v", c.name, c.word, got, err)
		}
	}
}

func TestItemValidate(t *testing.T) {
	good := plain()
	if err := good.Validate(); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		break_ func(*Item)
		says   string
	}{
		{func(it *Item) { it.Item = "puz" }, "not an item code"},
		{func(it *Item) { it.Item = strings.Repeat("A", 17) }, "not an item code"},
		{func(it *Item) { it.Name = "" }, "no name"},
		{func(it *Item) { it.Trace = "serial" }, "not a trace level"},
		{func(it *Item) { it.UnitG = -1 }, "a mass below zero"},
		{func(it *Item) { it.UnitG = 0 }, "without a mean"},
		{func(it *Item) { it.Dims[1] = 0 }, "not all three sides"},
		{func(it *Item) { it.Dims[1] = -1 }, "a side below zero"},
		{func(it *Item) { it.Value = -1 }, "a value below zero"},
		{func(it *Item) { it.Set = -2 }, "a set of that many"},
	} {
		it := good
		c.break_(&it)
		if err := it.Validate(); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%v does not say %q", err, c.says)
		}
	}
}

func TestItemJSON(t *testing.T) {
	for _, it := range demoItems(t) {
		b, err := json.Marshal(it)
		if err != nil {
			t.Fatal(err)
		}
		var back Item
		if err := json.Unmarshal(b, &back); err != nil {
			t.Fatal(err)
		}
		again, _ := json.Marshal(back)
		if string(again) != string(b) {
			t.Errorf("%s\n%s", b, again)
		}
	}
}

func TestParseItems(t *testing.T) {
	items, err := ParseItems("f.yaml", []byte(`
defaults: {aerosol: no, magnet: weak}
items:
  - item: A-1
    name: 'yes'
    codes: [001234567017, "9520000010041"]
    dims: 8 1/2 in x 4 in x 1 in
    unit: 0.5 lb
    magnet: no
    printed_warnings: [care, other]
`))
	if err != nil {
		t.Fatal(err)
	}
	it := items[0]
	if it.Codes[0] != "001234567017" || it.Name != "yes" || it.Trace != TraceClass || it.Attrs.Magnet != MagnetNo || it.Attrs.Aerosol != No {
		t.Errorf("%+v", it)
	}
	if it.Dims != (Dims{215900, 101600, 25400}) || it.UnitG != 226796 || it.Attrs.PrintedWarnings != PrintedCare|PrintedOther {
		t.Errorf("%+v", it)
	}
}

// TestParseItemsReportsAll: every slip at once, in the order of the file, with
// its place.
func TestParseItemsReportsAll(t *testing.T) {
	_, err := ParseItems("f.yaml", []byte(`defaults:
  aerosool: no
items:
  - item: A-1
    name: one
    codes: 9520000010042
    sharp: true
  - item: A-1
    name: two
    dims: 8 x 4 in
    mass: 5 g
  - item: b
    name: three
    printed_warnings: [care, sharpp]
`))
	got := err.Error()
	for i, part := range []string{
		`f.yaml:2:3: "aerosool" is not something the defaults has; did you mean aerosol?`,
		`f.yaml:6:12: `,
		`f.yaml:7:12: "true" is not a word for sharp`,
		`f.yaml:8:5: "A-1" is there twice`,
		`f.yaml:10:11: `,
		`f.yaml:11:5: "mass" is not something an item has`,
		`f.yaml:14:30: "sharpp" is not a word for printed_warnings`,
	} {
		at := strings.Index(got, part)
		if at < 0 {
			t.Fatalf("%d: %q is missing or out of order in\n%s", i, part, err)
		}
		got = got[at:]
	}
}
