package floors

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"packwright/workflow"
)

// Tally counts answers: by command and outcome, and refusals by code.
type Tally struct {
	Outcomes map[string]map[workflow.Outcome]int
	Codes    map[string]map[workflow.Code]int
	Unknown  int // answers that did not come
}

// NewTally gives an empty one.
func NewTally() *Tally {
	return &Tally{Outcomes: map[string]map[workflow.Outcome]int{}, Codes: map[string]map[workflow.Code]int{}}
}

// Add counts an answer.
func (t *Tally) Add(typ string, a Answer) {
	if a.Err != nil {
		t.Unknown++
		return
	}
	t.add(typ, a.Outcome, a.Code, 1)
}

func (t *Tally) add(typ string, o workflow.Outcome, c workflow.Code, n int) {
	if t.Outcomes[typ] == nil {
		t.Outcomes[typ], t.Codes[typ] = map[workflow.Outcome]int{}, map[workflow.Code]int{}
	}
	if o != "" {
		t.Outcomes[typ][o] += n
	}
	if c != "" {
		t.Codes[typ][c] += n
	}
}

// Merge adds another tally.
func (t *Tally) Merge(u *Tally) {
	t.Unknown += u.Unknown
	for typ, by := range u.Outcomes {
		for o, n := range by {
			t.add(typ, o, "", n)
		}
		for c, n := range u.Codes[typ] {
			t.add(typ, "", c, n)
		}
	}
}

// Kept says how often a command was kept, calls included.
func (t *Tally) Kept(typ string) int {
	return t.Outcomes[typ][workflow.Kept] + t.Outcomes[typ][workflow.Call]
}

// Total counts all answers and those that were kept.
func (t *Tally) Total() (all, kept int) {
	for typ, by := range t.Outcomes {
		for _, n := range by {
			all += n
		}
		kept += t.Kept(typ)
	}
	return all, kept
}

// String is a table: a line for each command.
func (t *Tally) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%-20s %8s %6s %7s %6s  refused or called by code\n", "command", "kept", "call", "already", "no")
	for _, typ := range slices.Sorted(maps.Keys(t.Outcomes)) {
		o := t.Outcomes[typ]
		fmt.Fprintf(&b, "%-20s %8d %6d %7d %6d ", typ, o[workflow.Kept], o[workflow.Call], o[workflow.Already], o[workflow.No])
		for _, c := range slices.Sorted(maps.Keys(t.Codes[typ])) {
			fmt.Fprintf(&b, " %s×%d", c, t.Codes[typ][c])
		}
		b.WriteByte('\n')
	}
	fmt.Fprintf(&b, "answers that did not come: %d\n", t.Unknown)
	return b.String()
}
