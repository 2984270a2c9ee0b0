package prep

import (
	"errors"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "rewrite golden files")

// refusal reads and proves a rulebook and gives what an owner would read.
func refusal(t *testing.T, file string) string {
	t.Helper()
	src, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	b, err := ParseRulebook(filepath.Base(file), src)
	if err == nil {
		err = Findings(b, Check(b))
	}
	var lines []string
	for _, e := range unjoined(err) {
		var in *InputError
		if !errors.As(e, &in) {
			t.Fatalf("%s: %T is not for people: %v", file, e, e)
		}
		if in.Line < 1 || in.Col < 1 || in.Snippet == "" || in.Do == "" {
			t.Errorf("%s: a refusal without place, line or advice: %+v", file, in)
		}
		lines = append(lines, in.Show()+"\n")
	}
	return strings.Join(lines, "")
}

// TestBrokenRulebooks reads rulebooks that an owner broke in different ways
// and holds the messages against the kept ones.
func TestBrokenRulebooks(t *testing.T) {
	files, err := filepath.Glob("testdata/rulebook/broken-*.yaml")
	if err != nil || len(files) < 10 {
		t.Fatalf("only %d broken rulebooks: %v", len(files), err)
	}
	for _, file := range files {
		got := refusal(t, file)
		if got == "" {
			t.Errorf("%s is taken", file)
		}
		golden := strings.TrimSuffix(file, ".yaml") + ".txt"
		if *update {
			if err := os.WriteFile(golden, []byte(got), 0o666); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(golden)
		if err != nil {
			t.Fatal(err)
		}
		if got != string(want) {
			t.Errorf("%s\ngot:\n%s\nwant:\n%s", file, got, want)
		}
	}
	if got := refusal(t, "testdata/rulebook/good.yaml"); got != "" {
		t.Errorf("the rulebook that they differ from is refused:\n%s", got)
	}
}
