package audit

import (
	"cmp"
	"fmt"
	"io"
	"maps"
	"slices"
	"strconv"
	"strings"

	"packwright/events"
)

// PlanView is a plan as it stood at one of its revisions.
type PlanView struct {
	Plan      string            `json:"plan"`
	Rev       int               `json:"rev"` // the one shown
	Latest    int               `json:"latest"`
	Policy    string            `json:"destination_policy"`
	Pieces    int               `json:"pieces"`
	Lines     []events.PlanLine `json:"lines"`
	Revisions []PlanRevision    `json:"revisions"`
	Waiting   []PlanRequest     `json:"waiting,omitempty"` // changes asked for and not answered
	Closed    bool              `json:"closed,omitempty"`
}

// PlanRevision is what a release or an amendment did.
type PlanRevision struct {
	Rev      int         `json:"rev"`
	At       events.Time `json:"at"`
	Proposal string      `json:"proposal,omitempty"`
	Approved []string    `json:"approved_by"`
	Delta    int         `json:"delta"` // pieces
}

// PlanRequest is a change that waits for those who must agree.
type PlanRequest struct {
	Proposal string              `json:"proposal"`
	Reason   string              `json:"reason"`
	Mismatch string              `json:"mismatch,omitempty"`
	Changes  []events.PlanChange `json:"changes"`
	Approved []string            `json:"approved_by,omitempty"`
}

// PlanDiff compares two revisions of a plan, line by line.
type PlanDiff struct {
	Plan  string         `json:"plan"`
	From  int            `json:"from"`
	To    int            `json:"to"`
	Lines []PlanDiffLine `json:"lines"` // those that differ
	Delta int            `json:"delta"` // pieces
	Was   int            `json:"was"`
	Is    int            `json:"is"`
}

// PlanDiffLine is one line of a carton in both revisions.
type PlanDiffLine struct {
	Carton string `json:"carton"`
	Item   string `json:"item"`
	Owner  string `json:"owner"`
	Was    int    `json:"was"`
	Is     int    `json:"is"`
}

// Plans lists the plans by name, in the order they were released.
func (f *Fold) Plans() []string { return slices.Clone(f.plans.Keys[1:]) }

// PlanAt gives a plan at a revision; rev 0 is the one in force, and no name is
// the plan released last. Errors: *NoSuch.
func (f *Fold) PlanAt(plan string, rev int) (PlanView, error) {
	name, p, err := f.planNamed(plan)
	if err != nil {
		return PlanView{}, err
	}
	if rev == 0 {
		rev = p.Rev
	}
	lines, err := p.at(name, rev)
	if err != nil {
		return PlanView{}, err
	}
	v := PlanView{Plan: name, Rev: rev, Latest: p.Rev, Policy: p.Policy, Lines: lines, Pieces: pieces(lines), Closed: p.Closed.Ref != 0}
	for _, r := range p.Revs {
		n := 0
		for _, ch := range r.Changes {
			n += ch.Delta
		}
		v.Revisions = append(v.Revisions, PlanRevision{Rev: r.Rev, At: r.Fact.At.time(), Proposal: r.Proposal, Approved: r.Approved, Delta: n})
	}
	for _, code := range slices.Sorted(maps.Keys(f.props)) {
		if q := f.props[code]; q.State == "open" && f.plans.Keys[q.Plan] == name {
			w := PlanRequest{Proposal: code, Reason: q.Reason, Mismatch: q.Mismatch, Changes: q.Changes}
			for _, y := range q.Yes {
				w.Approved = append(w.Approved, y.By)
			}
			v.Waiting = append(v.Waiting, w)
		}
	}
	return v, nil
}

// PlanDiff compares revision a with revision b. Errors: *NoSuch.
func (f *Fold) PlanDiff(plan string, a, b int) (PlanDiff, error) {
	name, p, err := f.planNamed(plan)
	if err != nil {
		return PlanDiff{}, err
	}
	was, err := p.at(name, a)
	if err != nil {
		return PlanDiff{}, err
	}
	is, err := p.at(name, b)
	if err != nil {
		return PlanDiff{}, err
	}
	d := PlanDiff{Plan: name, From: a, To: b, Was: pieces(was), Is: pieces(is)}
	d.Delta = d.Is - d.Was
	type key struct{ carton, item, owner string }
	rows := map[key]*PlanDiffLine{}
	row := func(l events.PlanLine) *PlanDiffLine {
		k := key{l.Carton, l.Item, l.Owner}
		if rows[k] == nil {
			rows[k] = &PlanDiffLine{Carton: l.Carton, Item: l.Item, Owner: l.Owner}
		}
		return rows[k]
	}
	for _, l := range was {
		row(l).Was = l.Q
	}
	for _, l := range is {
		row(l).Is = l.Q
	}
	for _, r := range rows {
		if r.Was != r.Is {
			d.Lines = append(d.Lines, *r)
		}
	}
	slices.SortFunc(d.Lines, func(x, y PlanDiffLine) int {
		return cmp.Or(cmp.Compare(x.Carton, y.Carton), cmp.Compare(x.Item, y.Item), cmp.Compare(x.Owner, y.Owner))
	})
	return d, nil
}

// planNamed finds a plan; no name means the one released last.
func (f *Fold) planNamed(name string) (string, *plan, error) {
	if name == "" && len(f.plans.Keys) > 1 {
		name = f.plans.Keys[len(f.plans.Keys)-1]
	}
	id, ok := f.plans.find(name)
	if !ok {
		return "", nil, &NoSuch{"plan", name}
	}
	return name, f.plans.row(id), nil
}

// at gives the lines of a revision, in the order they were first named; a line
// that came to nothing is left out.
func (p *plan) at(name string, rev int) ([]events.PlanLine, error) {
	var out []events.PlanLine
	found := false
	for _, r := range p.Revs {
		if r.Rev > rev {
			break
		}
		found = found || r.Rev == rev
		for _, ch := range r.Changes {
			i := slices.IndexFunc(out, func(l events.PlanLine) bool {
				return l.Carton == ch.Carton && l.Item == ch.Item && l.Owner == ch.Owner
			})
			if i < 0 {
				out = append(out, events.PlanLine{Carton: ch.Carton, Item: ch.Item, Owner: ch.Owner})
				i = len(out) - 1
			}
			out[i].Q += ch.Delta
		}
	}
	if !found {
		return nil, &NoSuch{"revision of plan " + name, strconv.Itoa(rev)}
	}
	return slices.DeleteFunc(out, func(l events.PlanLine) bool { return l.Q == 0 }), nil
}

func pieces(lines []events.PlanLine) (n int) {
	for _, l := range lines {
		n += l.Q
	}
	return n
}

// Text writes the plan for people.
func (v PlanView) Text(w io.Writer) error {
	fmt.Fprintf(w, "plan %s r%d: %d pieces, for %s%s\n", v.Plan, v.Rev, v.Pieces, v.Policy, map[bool]string{true: "; closed"}[v.Closed])
	for _, l := range v.Lines {
		fmt.Fprintf(w, "  %-6s %-8s %4d  %s\n", l.Carton, l.Item, l.Q, l.Owner)
	}
	for _, r := range v.Revisions {
		fmt.Fprintf(w, "r%d %s %+d pieces, agreed by %s\n", r.Rev, r.At.Clock(), r.Delta, strings.Join(r.Approved, ", "))
	}
	for _, q := range v.Waiting {
		fmt.Fprintf(w, "%s waits: %s\n", q.Proposal, q.Reason)
	}
	return nil
}

// Text writes the difference for people.
func (d PlanDiff) Text(w io.Writer) error {
	fmt.Fprintf(w, "plan %s r%d to r%d: %+d pieces, %d to %d\n", d.Plan, d.From, d.To, d.Delta, d.Was, d.Is)
	for _, l := range d.Lines {
		fmt.Fprintf(w, "  %-6s %-8s %4d to %4d  %+d  %s\n", l.Carton, l.Item, l.Was, l.Is, l.Is-l.Was, l.Owner)
	}
	if len(d.Lines) == 0 {
		fmt.Fprintln(w, "  no line differs")
	}
	return nil
}
