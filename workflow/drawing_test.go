package workflow

import (
	"encoding/xml"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// The drawings in the documents are those of the rules.
func TestDrawings(t *testing.T) {
	for file, got := range map[string]string{"states.dot": DOT(), "states.svg": SVG()} {
		path := filepath.Join("..", "testdata", "golden", file)
		if *update {
			if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		want, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(strings.Split(string(want), "\n"), strings.Split(got, "\n")); diff != "" {
			t.Errorf("%s (-drawn +rules; -update draws anew):\n%s", file, diff)
		}
	}
}

func TestDrawingsAreTheSameTwice(t *testing.T) {
	dot, svg := DOT(), SVG()
	for range 20 {
		if DOT() != dot || SVG() != svg {
			t.Fatal("the drawing changed by itself")
		}
	}
}

// Every command that moves something is in both drawings, and the picture is
// well-formed.
func TestDrawingsShowEveryMove(t *testing.T) {
	dot, svg := DOT(), SVG()
	for name, r := range rules {
		if len(r.Moves) > 0 && (!strings.Contains(dot, name) || !strings.Contains(svg, name)) {
			t.Errorf("%s is not drawn", name)
		}
	}
	dec := xml.NewDecoder(strings.NewReader(svg))
	for {
		if _, err := dec.Token(); err == io.EOF {
			break
		} else if err != nil {
			t.Fatal(err)
		}
	}
}

// Nothing dies unborn, and nothing is stuck: from every state that is not an end
// by its nature there is a way out, and to every state a way in.
func TestNoStateIsStuck(t *testing.T) {
	ends := map[string]bool{"unit:dispatched": true, "unit:written-off": true, "unit:consumed": true, "unit:unaccounted": true,
		"carton:void": true, "run:closed": true, "lot:closed": true, "proposal:approved": true, "proposal:declined": true,
		"claim:closed": true, "claim:linked": true, "badge:retired": true, "rulebook:blocked": true, "floor:founded": true}
	for _, m := range machines() {
		for _, s := range m.states {
			in, out := false, false
			for _, a := range m.arrows {
				in, out = in || a.to == s && a.from != s, out || a.from == s
			}
			if s != "" && (!in || !out && !ends[node(m.of, s)]) {
				t.Errorf("%s %s: way in %t, way out %t", m.of, s, in, out)
			}
		}
	}
}
