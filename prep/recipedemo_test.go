package prep

import (
	"os"
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

func TestDemoShow(t *testing.T) {
	b := demoBook(t, "r4")
	for _, it := range demoItems(t) {
		t.Log(Explain(b, it))
	}
}
