package workflow

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// What the floor says no with can be read at arm's length: two lines of at most
// twelve words, what and what to do, without begging or blaming.
func TestRefusalsAreShort(t *testing.T) {
	banned := regexp.MustCompile(`(?i)\b(please|sorry|error|invalid|failed|illegal|oops)\b`)
	for _, x := range Texts() {
		for _, line := range []string{x.What, x.Next} {
			if n := len(strings.Fields(line)); n == 0 || n > 12 {
				t.Errorf("%s says %q: %d words, at most 12", x.Code, line, n)
			}
			if w := banned.FindString(line); w != "" {
				t.Errorf("%s says %q", x.Code, w)
			}
			if !strings.HasSuffix(line, ".") && !strings.HasSuffix(line, "?") {
				t.Errorf("%s: %q is no sentence", x.Code, line)
			}
		}
	}
}

// A code is spoken somewhere, or it has no text; and has a text, or is not spoken.
func TestRefusalsAreAllSpoken(t *testing.T) {
	code := regexp.MustCompile(`"(E-[A-Z]{3}-[0-9]{2})"`)
	spoken := map[Code]string{}
	for _, dir := range []string{".", "engine"} {
		files, err := filepath.Glob(filepath.Join(dir, "*.go"))
		if err != nil {
			t.Fatal(err)
		}
		for _, file := range files {
			if strings.HasSuffix(file, "_test.go") || filepath.Base(file) == "refusal.go" {
				continue
			}
			src, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			for _, m := range code.FindAllStringSubmatch(string(src), -1) {
				spoken[Code(m[1])] = file
			}
		}
	}
	for c, file := range spoken {
		if _, ok := texts[c]; !ok {
			t.Errorf("%s says %s, which has no text", file, c)
		}
	}
	for c := range texts {
		if spoken[c] == "" {
			t.Errorf("%s has a text, and nothing says it", c)
		}
	}
}

func TestRefuseWantsItsWords(t *testing.T) {
	r := refuse("E-INT-02", "T-07", 6)
	if r.Text != "Tote T-07 still holds 6 of another lot or stage." || r.Next != "Use an empty tote." {
		t.Errorf("%+v", r)
	}
	for _, wrong := range []func(){func() { refuse("E-INT-02", "T-07") }, func() { refuse("E-XXX-01") }} {
		func() {
			defer func() {
				if recover() == nil {
					t.Error("a refusal without its words was made")
				}
			}()
			wrong()
		}()
	}
}
