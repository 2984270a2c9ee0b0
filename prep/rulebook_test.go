package prep

import (
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestRulebookJSON: the form that travels in an event comes back the same,
// gives the same digest and the same recipes.
func TestRulebookJSON(t *testing.T) {
	for _, b := range []*Rulebook{DefaultRulebook(), demoBook(t, "r4"), demoBook(t, "r5")} {
		wire, err := json.Marshal(b)
		if err != nil {
			t.Fatal(err)
		}
		var back Rulebook
		if err := json.Unmarshal(wire, &back); err != nil {
			t.Fatal(err)
		}
		again, _ := json.Marshal(&back)
		if string(again) != string(wire) || back.Digest() != b.Digest() || len(b.Digest()) != 64 {
			t.Errorf("r%d does not come back the same", b.Rev)
		}
		for _, it := range demoItems(t) {
			if b.Recipe(it).Digest() != back.Recipe(it).Digest() {
				t.Errorf("r%d: %s gets another recipe after the wire", b.Rev, it.Item)
			}
		}
		t.Logf("r%d is %d bytes on the wire", b.Rev, len(wire))
	}
	if demoBook(t, "r4").Digest() == demoBook(t, "r5").Digest() {
		t.Error("two revisions, one digest")
	}
}

func TestRulebookJSONRefusesWhatCannotWork(t *testing.T) {
	wire, _ := json.Marshal(DefaultRulebook())
	broken := strings.Replace(string(wire), `"must":["see-switch-off"]`, `"must":["see-switch-of"]`, 1)
	broken = strings.Replace(broken, `"attr":"battery","is":["alkaline-in"]`, `"attr":"battery","is":["alcaline-in"]`, 1)
	var b Rulebook
	err := json.Unmarshal([]byte(broken), &b)
	if err == nil || !strings.Contains(err.Error(), "did you mean see-switch-off?") || !strings.Contains(err.Error(), "did you mean alkaline-in?") {
		t.Errorf("got %v", err)
	}
	if b.Rev != 0 {
		t.Error("a refused rulebook was kept")
	}
}

// TestRulebookBuiltByHand works without having been read from anywhere.
func TestRulebookBuiltByHand(t *testing.T) {
	read := DefaultRulebook()
	built := &Rulebook{Rev: read.Rev, AskFor: read.AskFor, Names: read.Names, Otherwise: read.Otherwise, LeastFilm: read.LeastFilm,
		Steps: read.Steps, Labels: read.Labels, Cautions: read.Cautions, Rules: read.Rules, Materials: read.Materials}
	for _, it := range demoItems(t) {
		if read.Recipe(it).Digest() != built.Recipe(it).Digest() {
			t.Errorf("%s differs", it.Item)
		}
	}
	if found := Check(built); len(found) > 0 {
		t.Errorf("found %v", found)
	}
}

func TestNumberTests(t *testing.T) {
	for _, c := range []struct {
		phrase  string
		kind    factKind
		in, out []int64
	}{
		{"over 0", asCount, []int64{1, 300}, []int64{0}},
		{"at least 2000", asMoney, []int64{2000000}, []int64{1999999}},
		{"at least 5 in", asLength, []int64{127000}, []int64{126999}},
		{"at least 127", asLength, []int64{127000}, []int64{126999}},
		{"At Most  12 mm", asLength, []int64{12000}, []int64{12001}},
		{"under 1.5 mil", asLength, []int64{37}, []int64{38}},
		{"exactly 2", asCount, []int64{2}, []int64{1, 3}},
		{"from 2 to 5", asCount, []int64{2, 5}, []int64{1, 6}},
		{"over 15 kg", asMass, []int64{15000001}, []int64{15000000}},
	} {
		rt, err := parseNumberTest(c.phrase, c.kind)
		if err != nil {
			t.Errorf("%q: %v", c.phrase, err)
			continue
		}
		try := func(v int64) bool {
			k := &knowledge{}
			k.setNumber(rt.fact, v, true)
			return rt.holds(k)
		}
		for _, v := range c.in {
			if !try(v) {
				t.Errorf("%q does not hold for %d", c.phrase, v)
			}
		}
		for _, v := range c.out {
			if try(v) {
				t.Errorf("%q holds for %d", c.phrase, v)
			}
		}
		unknown := &knowledge{}
		unknown.setNumber(rt.fact, c.in[0], false)
		if rt.holds(unknown) {
			t.Errorf("%q holds for unknown", c.phrase)
		}
	}
	for _, phrase := range []string{"", "5", "at least", "at least x", "more than 5", "from 5 to 2", "from 5", "at least -3", "over 99999999999999999999", "at least 1e3"} {
		if rt, err := parseNumberTest(phrase, asCount); err == nil {
			t.Errorf("%q is taken as %+v", phrase, rt)
		}
	}
	either, err := parseNumberTest("over 5 or unknown", asCount)
	k := &knowledge{}
	k.setNumber(either.fact, 0, false)
	if err != nil || !either.holds(k) {
		t.Errorf("over 5 or unknown does not hold for unknown: %v", err)
	}
}

// TestYAMLTraps: values that other readers turn into something else.
func TestYAMLTraps(t *testing.T) {
	src, err := os.ReadFile("testdata/rulebook/good.yaml")
	if err != nil {
		t.Fatal(err)
	}
	b, err := ParseRulebook("good.yaml", []byte(strings.Replace(string(src), "rev: 7", "rev: 010\nnote: no", 1)))
	if err != nil || b.Rev != 10 || b.Note != "no" {
		t.Errorf("%+v %v", b, err)
	}
	for _, c := range []struct{ text, says string }{
		{"rev: &a 7", "f.yaml:1:6: "},
		{"rev: !!int 7", "f.yaml:1:6: "},
		{"<<: {rev: 7}", "f.yaml:1:"},
		{"rev: 7\n---\nrev: 8", "2 documents"},
		{"", "0 documents"},
		{"- rev: 7", "names and values are wanted"},
		{"rev: 7\n\tnote: x", "f.yaml:2:1: a tab indents"},
		{"rev: 7\nrev: 8", "f.yaml:2:1: \"rev\" is written twice"},
		{"note: \xff", "not text in UTF-8"},
		{strings.Repeat("[", 100000), "nested too deep"},
		{"note: " + strings.Repeat("x", 3000), "too long"},
		{strings.Repeat("a: 1\n", 30000), "beyond 20000 lines"},
		{strings.Repeat("#", 1<<21), "larger than 1 MiB"},
	} {
		_, err := ParseRulebook("f.yaml", []byte(c.text))
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%.40q: %.200v does not say %q", c.text, err, c.says)
		}
	}
}

// FuzzRulebook: no input panics or hangs the reader, each refusal names its
// place, and what is taken survives the wire and the proof.
func FuzzRulebook(f *testing.F) {
	files, _ := filepath.Glob("testdata/rulebook/*.yaml")
	for _, file := range files {
		src, err := os.ReadFile(file)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(src)
	}
	f.Fuzz(func(t *testing.T, src []byte) {
		_, itemErr := ParseItems("f.yaml", src)
		placed(t, itemErr)
		b, err := ParseRulebook("f.yaml", src)
		placed(t, err)
		if err != nil {
			return
		}
		wire, err := json.Marshal(b)
		if err != nil {
			t.Fatal(err)
		}
		var back Rulebook
		if err := json.Unmarshal(wire, &back); err != nil || back.Digest() != b.Digest() {
			t.Fatalf("does not come back: %v", err)
		}
		placed(t, Findings(b, Check(b)))
		b.Recipe(plain())
	})
}

func placed(t *testing.T, err error) {
	t.Helper()
	for _, e := range unjoined(err) {
		var in *InputError
		if !errors.As(e, &in) || in.File == "" || in.Line < 1 || in.Col < 1 || in.What == "" {
			t.Fatalf("a refusal without a place: %#v", e)
		}
	}
}
