package prep

import (
	"fmt"
	"strings"

	"github.com/goccy/go-yaml/ast"
)

// node is one value of a source.
type node struct {
	src *source
	ast ast.Node
}

func (n node) place() place { return placeOf(n.ast) }

func (n node) fail(what, do string) { n.src.fail(n.place(), what, do) }

// pair is one line of a mapping.
type pair struct {
	key   string
	at    place
	value node
}

// mark notes where a path stands. The last of equals is kept: it is the one too many.
func (n node) mark(path string, at place) { n.src.at[path] = at }

// pairs reads a mapping; anything else is an error.
func (n node) pairs() []pair {
	var values []*ast.MappingValueNode
	switch m := n.ast.(type) {
	case *ast.MappingNode:
		values = m.Values
	case *ast.MappingValueNode:
		values = []*ast.MappingValueNode{m}
	default:
		n.fail("names and values are wanted here", "write name: value, one to a line")
		return nil
	}
	out := make([]pair, 0, len(values))
	for _, v := range values {
		key, ok := v.Key.(ast.Node)
		if !ok {
			continue
		}
		k := node{n.src, key}
		name, ok := k.scalar()
		if !ok || name == "" {
			k.fail("this name is not a plain word", "write the name without signs before it")
			continue
		}
		out = append(out, pair{name, k.place(), node{n.src, v.Value}})
	}
	return out
}

// items reads a list; a single value counts as a list of one, and nothing at
// all is an error.
func (n node) items() []node {
	switch v := n.ast.(type) {
	case *ast.SequenceNode:
		out := make([]node, len(v.Values))
		for i := range v.Values {
			out[i] = node{n.src, v.Values[i]}
		}
		return out
	case nil, *ast.NullNode:
		n.fail("nothing is written here", "write a value, or leave the line out")
		return nil
	}
	return []node{n}
}

// text reads one plain or quoted value as it is written.
func (n node) text() string {
	s, ok := n.scalar()
	switch {
	case !ok:
		n.fail("a plain value is wanted here", "write one word, number or sentence")
	case s == "":
		n.fail("nothing is written here", "write a value, or leave the line out")
	}
	return s
}

func (n node) scalar() (string, bool) {
	switch v := n.ast.(type) {
	case *ast.StringNode:
		return strings.TrimSpace(v.Value), true
	case *ast.LiteralNode:
		return strings.Join(strings.Fields(v.Value.Value), " "), true
	case *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode, *ast.InfinityNode, *ast.NanNode:
		return strings.TrimSpace(v.GetToken().Value), true
	case nil, *ast.NullNode:
		return "", true
	}
	return "", false
}

// yes reads yes or no; nothing else.
func (n node) yes() bool {
	switch s := strings.ToLower(n.text()); s {
	case "yes":
		return true
	case "no", "":
	case "true", "on", "y":
		n.fail(quoted(s)+" is not yes or no", "did you mean yes?")
	case "false", "off", "n":
		n.fail(quoted(s)+" is not yes or no", "did you mean no?")
	default:
		n.fail(quoted(s)+" is not yes or no", "write yes or no")
	}
	return false
}

// field says where the value of a name goes: a pointer to string, bool, int,
// []string, a measure, or a func(node).
type field struct {
	name string
	into any
}

// fields reads a mapping into the fields; a name that is none of them, or
// comes twice, is an error. It returns where each name stands.
func (n node) fields(what string, list []field) {
	seen := map[string]bool{}
	names := make([]string, len(list))
	for i := range list {
		names[i] = list[i].name
	}
	for _, p := range n.pairs() {
		i := indexOf(names, p.key)
		switch {
		case i < 0:
			n.src.fail(p.at, quoted(p.key)+" is not something "+what+" has", suggest(p.key, names))
		case seen[p.key]:
			n.src.fail(p.at, quoted(p.key)+" is written twice", "leave one out")
		default:
			seen[p.key] = true
			p.value.into(list[i].into)
		}
	}
}

func indexOf(names []string, name string) int {
	for i := range names {
		if names[i] == name {
			return i
		}
	}
	return -1
}

func (n node) into(target any) {
	switch t := target.(type) {
	case *string:
		*t = n.text()
	case *bool:
		*t = n.yes()
	case *int:
		v, err := wholeNumber(n.text())
		if err == nil && v > 1<<30 {
			err = Input(fmt.Sprint(v)+" is too large", "check the number")
		}
		*t = int(v)
		n.refuse(err)
	case *Length:
		n.measure((*int64)(t), asLength)
	case *Mass:
		n.measure((*int64)(t), asMass)
	case *Money:
		n.measure((*int64)(t), asMoney)
	case *Fixed:
		v, err := parseDecimal([]byte(n.text()), 6)
		if err != nil {
			n.fail(err.What, err.Do)
		}
		*t = Fixed(v)
	case *Dims:
		d, err := ParseDims(n.text())
		*t = d
		n.refuse(err)
	case func(node):
		t(n)
	default:
		panic(fmt.Sprintf("prep: no way to read into %T", target))
	}
}

func (n node) measure(into *int64, kind factKind) {
	v, err := quantity(n.text(), kind)
	*into = v
	n.refuse(err)
}

// refuse reports an error about this value, if it is one.
func (n node) refuse(err error) {
	if err == nil {
		return
	}
	if in, ok := err.(*InputError); ok {
		n.fail(in.What, in.Do)
		return
	}
	n.fail(err.Error(), "write it another way")
}
