package prep

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
)

// The reader takes a small part of YAML: mappings, lists and plain or quoted
// text, one document. Values are taken as they are written, so that a code keeps
// its leading zeros and yes stays yes. Anchors, aliases, tags and merges are
// refused: what an owner reads aloud has no hidden copies.

// Limits that no honest file meets; they keep a hostile one from exhausting
// the parser's stack.
const (
	maxSourceBytes = 1 << 20
	maxSourceLines = 20_000
	maxLineBytes   = 2000
	maxNesting     = 40
)

// source is a YAML file being read, with every error found in it so far.
type source struct {
	file  string
	lines []string
	errs  []*InputError
	at    map[string]place
}

// readSource parses src. A nil node means that errs says why.
func readSource(file string, src []byte) (*source, *node) {
	s := &source{file: file, lines: strings.Split(string(src), "\n"), at: map[string]place{}}
	if !s.readable(src) {
		return s, nil
	}
	tree, err := parseYAML(src)
	if err != nil {
		s.syntax(err)
		return s, nil
	}
	var docs []*ast.DocumentNode
	for _, d := range tree.Docs {
		if d.Body != nil {
			docs = append(docs, d)
		}
	}
	if len(docs) != 1 {
		at := place{1, 1}
		if len(docs) > 1 {
			at = placeOf(docs[1].Body)
		}
		s.fail(at, fmt.Sprintf("the file holds %d documents", len(docs)), "keep one, without --- lines between")
		return s, nil
	}
	return s, &node{s, docs[0].Body}
}

// parseYAML turns a panic of the parser on a malformed file into an error.
func parseYAML(src []byte) (tree *ast.File, err error) {
	defer func() {
		if recover() != nil {
			err = errors.New("the file cannot be read as YAML")
		}
	}()
	return parser.ParseBytes(src, 0, parser.AllowDuplicateMapKey())
}

func (s *source) syntax(err error) {
	var se *yaml.SyntaxError
	if errors.As(err, &se) && se.Token != nil && se.Token.Position != nil {
		s.fail(place{se.Token.Position.Line, se.Token.Position.Column}, "the file breaks off here: "+se.Message, "check brackets, quotes, colons and indentation")
		return
	}
	s.fail(place{1, 1}, "this is not a file of names and values", "start from the shipped rulebook")
}

// readable refuses what is not text, or is too large or too deep to read safely.
func (s *source) readable(src []byte) bool {
	before := len(s.errs)
	if len(src) > maxSourceBytes {
		s.fail(place{1, 1}, "the file is larger than 1 MiB", "split it")
	}
	if len(s.lines) > maxSourceLines {
		s.fail(place{maxSourceLines, 1}, "the file goes on beyond 20000 lines", "split it, or import items from a spreadsheet")
		return false
	}
	depth := 0
	for i, line := range s.lines {
		switch {
		case !utf8.ValidString(line) || strings.ContainsRune(line, 0):
			s.fail(place{i + 1, 1}, "this line is not text in UTF-8", "save the file as UTF-8")
		case len(line) > maxLineBytes:
			s.fail(place{i + 1, 1}, "this line is too long", "break it into lines of at most 2000 characters")
		case strings.ContainsRune(line, '\t') && strings.TrimLeft(line, " \t") != strings.TrimLeft(line, " "):
			s.fail(place{i + 1, strings.IndexByte(line, '\t') + 1}, "a tab indents this line", "use spaces")
		}
		for j, r := range line {
			switch r {
			case '[', '{':
				depth++
			case ']', '}':
				depth--
			}
			if depth == maxNesting+1 {
				s.fail(place{i + 1, j + 1}, "brackets are nested too deep", "close some")
				return false
			}
		}
	}
	return len(s.errs) == before
}

func (s *source) fail(at place, what, do string) {
	at.line = min(max(at.line, 1), len(s.lines))
	snippet := strings.TrimRight(s.lines[at.line-1], "\r")
	if len(snippet) > 200 {
		snippet = strings.ToValidUTF8(snippet[:200], "")
	}
	s.errs = append(s.errs, &InputError{File: s.file, Line: at.line, Col: max(at.col, 1), What: what, Do: do, Snippet: snippet})
}

// failed joins the errors found, in the order of the file; at one place only
// the first is kept. It is nil when there are none.
func (s *source) failed() error {
	slices.SortStableFunc(s.errs, func(a, b *InputError) int {
		if a.Line != b.Line {
			return a.Line - b.Line
		}
		return a.Col - b.Col
	})
	var errs []error
	var last *InputError
	for _, e := range s.errs {
		if last == nil || last.Line != e.Line || last.Col != e.Col {
			errs = append(errs, e)
		}
		last = e
	}
	return errors.Join(errs...)
}

// failedLines are the lines with an error so far.
func (s *source) failedLines() map[int]bool {
	lines := map[int]bool{}
	for _, e := range s.errs {
		lines[e.Line] = true
	}
	return lines
}

// place finds where a path stands, or the nearest path around it.
func (s *source) place(path string) place {
	for {
		if at, ok := s.at[path]; ok {
			return at
		}
		cut := strings.LastIndexByte(path, '/')
		if cut < 0 {
			return place{1, 1}
		}
		path = path[:cut]
	}
}

func placeOf(n ast.Node) place {
	if m, ok := n.(*ast.MappingNode); ok && len(m.Values) > 0 && !m.IsFlowStyle {
		n = m.Values[0]
	}
	if m, ok := n.(*ast.MappingValueNode); ok {
		n = m.Key
	}
	if n == nil || n.GetToken() == nil || n.GetToken().Position == nil {
		return place{1, 1}
	}
	p := n.GetToken().Position
	return place{p.Line, p.Column}
}
