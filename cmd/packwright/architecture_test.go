package main

import (
	"cmp"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

const (
	module = "packwright"
	root   = "../.." // of the repository
)

// layers say which of our own packages a package may import: those named, and
// itself with its subpackages where it ends in /... . The longest name that a
// package begins with counts. There are no exceptions for a file.
var layers = map[string][]string{
	"prep":            {"prep/..."},
	"events":          {"prep/...", "events/..."},
	"workflow":        {"prep/...", "events"},
	"workflow/engine": {"prep/...", "events/...", "workflow"},
	"audit":           {"prep/...", "events/...", "audit/..."},
	"cmd/packwright":  {"prep/...", "events/...", "workflow/...", "audit/...", "testdata/...", "cmd/packwright/..."},
	"testdata":        {"prep/...", "events/...", "workflow/...", "audit/...", "testdata/..."},
}

// outside says who alone may import what is not ours.
var outside = []struct {
	what string   // import path, with what is under it
	by   []string // packages, without what is under them
}{
	{"github.com/nats-io", []string{"events/natslog", "cmd/packwright/door"}},
	{"github.com/rs/zerolog", []string{"events/natslog", "workflow/engine", "cmd/packwright", "cmd/packwright/door", "cmd/packwright/web"}},
	{"github.com/prometheus", []string{"cmd/packwright"}},
	{"github.com/google/go-cmp", nil}, // tests only
	{"pgregory.net/rapid", nil},
	{"github.com/rogpeppe/go-internal", nil},
}

// pure packages get time, files and chance as arguments. Their subpackages that
// meet the world are not among them.
var pure = []string{"prep", "prep/label", "events", "events/memlog", "events/proof", "events/backup", "workflow", "audit"}

// worldly is what a pure package does not import.
var worldly = []string{"os", "net", "log", "math/rand", "crypto/rand", "syscall", "plugin", "os/exec", "log/slog"}

// source is a parsed file and where it belongs.
type source struct {
	pkg, name string
	test      bool
	file      *ast.File
	set       *token.FileSet
}

func sources(t *testing.T) (out []source) {
	t.Helper()
	set := token.NewFileSet()
	err := filepath.WalkDir(root, func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(root, name)
		if err != nil {
			return err
		}
		if d.IsDir() && (strings.HasPrefix(d.Name(), ".") && rel != "." || rel == filepath.Join("testdata", "bench")) {
			return filepath.SkipDir // testdata/bench is a module of its own
		}
		if d.IsDir() || filepath.Ext(name) != ".go" {
			return nil
		}
		file, err := parser.ParseFile(set, name, nil, parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		out = append(out, source{path.Dir(filepath.ToSlash(rel)), filepath.ToSlash(rel), strings.HasSuffix(name, "_test.go"), file, set})
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(out) < 100 {
		t.Fatalf("only %d files were found: the test looks in the wrong place", len(out))
	}
	return out
}

func (s source) imports() (out []string) {
	for _, i := range s.file.Imports {
		p, _ := strconv.Unquote(i.Path.Value)
		out = append(out, p)
	}
	return out
}

// at gives where a node stands, for messages.
func (s source) at(n ast.Node) string { return s.set.Position(n.Pos()).String() }

// TestLayers: packages import ours only downwards.
func TestLayers(t *testing.T) {
	for _, s := range sources(t) {
		if s.test {
			continue
		}
		allowed, ok := layerOf(s.pkg)
		if !ok {
			t.Errorf("%s is in no layer", s.name)
			continue
		}
		for _, p := range s.imports() {
			ours, found := strings.CutPrefix(p, module+"/")
			if found && !slices.ContainsFunc(allowed, func(a string) bool { return covers(a, ours) }) {
				t.Errorf("%s imports %s; its layer imports only %s", s.name, ours, strings.Join(allowed, ", "))
			}
		}
	}
}

// layerOf finds the layer with the longest name that a package begins with.
func layerOf(pkg string) (allowed []string, ok bool) {
	best := ""
	for name, a := range layers {
		if (pkg == name || strings.HasPrefix(pkg, name+"/")) && len(name) > len(best) {
			best, allowed, ok = name, a, true
		}
	}
	return allowed, ok
}

// covers says whether a pattern, which may end in /..., names a package.
func covers(pattern, pkg string) bool {
	tree, all := strings.CutSuffix(pattern, "/...")
	return pkg == tree || all && strings.HasPrefix(pkg, tree+"/")
}

// TestOutside: some libraries stay where they belong.
func TestOutside(t *testing.T) {
	for _, s := range sources(t) {
		if s.test {
			continue
		}
		for _, p := range s.imports() {
			for _, o := range outside {
				if covers(o.what+"/...", p) && !slices.Contains(o.by, s.pkg) {
					t.Errorf("%s imports %s, which is only for %s", s.name, p, cmp.Or(strings.Join(o.by, ", "), "tests"))
				}
			}
		}
	}
}

// TestPure: pure packages import nothing of the world and never ask the clock.
func TestPure(t *testing.T) {
	for _, s := range sources(t) {
		if s.test || !slices.Contains(pure, s.pkg) {
			continue
		}
		for _, p := range s.imports() {
			if slices.ContainsFunc(worldly, func(w string) bool { return covers(w+"/...", p) }) {
				t.Errorf("%s is pure and imports %s", s.name, p)
			}
		}
		ast.Inspect(s.file, func(n ast.Node) bool {
			if sel, ok := n.(*ast.SelectorExpr); ok && isClock(sel) {
				t.Errorf("%s: a pure package asks the clock: time.%s", s.at(n), sel.Sel.Name)
			}
			return true
		})
	}
}

// isClock says whether an expression is a function of package time that knows now.
func isClock(sel *ast.SelectorExpr) bool {
	x, ok := sel.X.(*ast.Ident)
	return ok && x.Name == "time" && slices.Contains([]string{"Now", "Since", "Until", "After", "Tick", "NewTimer", "NewTicker", "AfterFunc", "Sleep"}, sel.Sel.Name)
}

// TestLayersCatch: the checks above would see what they look for.
func TestLayersCatch(t *testing.T) {
	allowed, _ := layerOf("audit/follow")
	for pkg, want := range map[string]bool{"prep": true, "prep/label": true, "audit": true, "workflow": false, "workflow/engine": false} {
		if got := slices.ContainsFunc(allowed, func(a string) bool { return covers(a, pkg) }); got != want {
			t.Errorf("audit/follow may import %s: %t", pkg, got)
		}
	}
	if allowed, _ := layerOf("workflow"); slices.ContainsFunc(allowed, func(a string) bool { return covers(a, "workflow/engine") }) {
		t.Error("workflow may import its engine")
	}
	if covers("prep/...", "prepare") {
		t.Error("prep covers prepare")
	}
	e, err := parser.ParseExpr("time.Now()")
	if err != nil || !isClock(e.(*ast.CallExpr).Fun.(*ast.SelectorExpr)) {
		t.Error("time.Now is not seen as the clock")
	}
	if _, ok := layerOf("elsewhere"); ok {
		t.Error("a package outside the tree has a layer")
	}
}
