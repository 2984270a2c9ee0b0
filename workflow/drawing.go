package workflow

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"

	"packwright/events"
)

// # The drawing
//
// The state machines are drawn from the moves of the rules, and from nothing
// else: one panel for each kind of thing, a column for each of its states, and
// a row for each arrow with the commands that make it. A drawing made twice is
// the same drawing.

// machine is one kind of thing with its states and arrows, in drawing order.
type machine struct {
	of     string
	states []string // "" first: birth, and the end
	arrows []arrow
}

// arrow is a way from one state to another and the commands that take it.
type arrow struct {
	from, to string
	by       []string // sorted
}

// machineOrder puts what most people ask about first; others follow by name.
var machineOrder = []string{"unit", "carton", "run", "lot", "plan", "proposal", "load", "mismatch", "session", "station", "claim"}

// stateOrder is the road of those things that have one.
var stateOrder = map[string][]string{
	"unit":     words(events.Stages),
	"carton":   words([]CartonState{CartonPlanned, CartonOpen, CartonCounting, CartonCounted, CartonSealed, CartonDispatched, CartonVoid}),
	"run":      {string(RunOpen), string(RunPaused), "stopped", string(RunClosed)},
	"mismatch": {"raised", "taken", "fixed", "resolved"},
}

func words[T ~string](list []T) (out []string) {
	for _, w := range list {
		out = append(out, string(w))
	}
	return out
}

// machines gathers the moves of all rules.
func machines() []machine {
	by := map[string]map[[2]string][]string{}
	for name, r := range rules {
		for _, m := range r.Moves {
			if by[m.Of] == nil {
				by[m.Of] = map[[2]string][]string{}
			}
			way := [2]string{m.From, m.To}
			by[m.Of][way] = append(by[m.Of][way], name)
		}
	}
	out := make([]machine, 0, len(by))
	for of, ways := range by {
		m := machine{of: of, states: ranked(ways, stateOrder[of])}
		for way, names := range ways {
			slices.Sort(names)
			m.arrows = append(m.arrows, arrow{way[0], way[1], slices.Compact(names)})
		}
		at := func(s string) int { return slices.Index(m.states, s) }
		slices.SortFunc(m.arrows, func(a, b arrow) int {
			return cmp.Or(cmp.Compare(at(a.from), at(b.from)), cmp.Compare(at(a.to), at(b.to)))
		})
		out = append(out, m)
	}
	slices.SortFunc(out, func(a, b machine) int {
		return cmp.Or(cmp.Compare(placeIn(machineOrder, a.of), placeIn(machineOrder, b.of)), cmp.Compare(a.of, b.of))
	})
	return out
}

func placeIn(list []string, word string) int {
	if i := slices.Index(list, word); i >= 0 {
		return i
	}
	return len(list)
}

// ranked orders states along the road of their kind, if it has one, then by
// their fewest steps from birth, then by name.
func ranked(ways map[[2]string][]string, road []string) []string {
	depth := map[string]int{"": 0}
	for grew := true; grew; {
		grew = false
		for way := range ways {
			d, known := depth[way[0]]
			if was, ok := depth[way[1]]; known && (!ok || d+1 < was) {
				depth[way[1]], grew = d+1, true
			}
		}
	}
	for way := range ways { // a state that nothing leads to
		for _, s := range way {
			if _, ok := depth[s]; !ok {
				depth[s] = 1
			}
		}
	}
	road = append([]string{""}, road...)
	return slices.SortedFunc(maps.Keys(depth), func(a, b string) int {
		return cmp.Or(cmp.Compare(placeIn(road, a), placeIn(road, b)), cmp.Compare(depth[a], depth[b]), cmp.Compare(a, b))
	})
}

// DOT gives the state machines in the language of graph drawing programs, one
// cluster for each.
func DOT() string {
	var b strings.Builder
	b.WriteString("// Made from the moves of the rules. Do not edit.\ndigraph floor {\n\trankdir=LR;\n\tnode [shape=box, style=rounded, fontname=\"sans-serif\"];\n\tedge [fontname=\"sans-serif\", fontsize=10];\n")
	for _, m := range machines() {
		fmt.Fprintf(&b, "\tsubgraph %q {\n\t\tlabel=%q;\n", "cluster_"+m.of, m.of)
		for _, s := range m.states {
			if s == "" {
				fmt.Fprintf(&b, "\t\t%q [shape=point, label=\"\"];\n", node(m.of, s))
				continue
			}
			fmt.Fprintf(&b, "\t\t%q [label=%q];\n", node(m.of, s), s)
		}
		for _, a := range m.arrows {
			fmt.Fprintf(&b, "\t\t%q -> %q [label=%q];\n", node(m.of, a.from), node(m.of, a.to), strings.Join(a.by, "\n"))
		}
		b.WriteString("\t}\n")
	}
	b.WriteString("}\n")
	return b.String()
}

func node(of, state string) string { return of + ":" + state }

// needs lists what a command asks for, gate by gate, for those who point at it.
func needs(command string) string {
	r := rules[command]
	var b strings.Builder
	b.WriteString(command)
	for _, g := range r.Gates {
		fmt.Fprintf(&b, "\n%s %s", g.Code, g.Needs)
	}
	return b.String()
}
