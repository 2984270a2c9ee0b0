package audit

import (
	"cmp"
	"maps"
	"slices"

	"packwright/events"
)

// ChangeView is a change of a plan: what was asked, who agreed, what came of it.
type ChangeView struct {
	Proposal string       `json:"proposal"`
	Plan     string       `json:"plan"`
	Reason   string       `json:"reason"`
	Mismatch string       `json:"mismatch,omitempty"`
	By       string       `json:"by"`
	Asked    events.Time  `json:"asked_at"`
	State    string       `json:"state"` // open, amended, declined
	Rev      int          `json:"rev"`   // of the plan before it
	Was      int          `json:"was"`   // pieces of the whole plan before it
	Is       int          `json:"is"`    // and with it
	Cartons  int          `json:"cartons"`
	Lines    []ChangeLine `json:"lines"`
	Voices   []Voice      `json:"voices"` // one for each owner whose lines change, by name
	// Counted are its cartons whose count would no longer hold.
	Counted  []string    `json:"counted,omitempty"`
	Declined string      `json:"declined_by,omitempty"`
	Why      string      `json:"declined_because,omitempty"`
	Answered events.Time `json:"answered_at,omitzero"` // amended or declined
}

// ChangeLine is one line of a carton before and with a change.
type ChangeLine struct {
	Carton string `json:"carton"`
	Item   string `json:"item"`
	Owner  string `json:"owner"`
	Was    int    `json:"was"`
	Is     int    `json:"is"`
}

// Voice is one owner's say in a change.
type Voice struct {
	Owner  string `json:"owner"`
	Client bool   `json:"client,omitempty"` // a badge of a client answers for these goods
	// Pieces is how many pieces change for this owner, more or fewer.
	Pieces int         `json:"pieces"`
	By     string      `json:"by,omitempty"`    // who said yes; empty: nobody yet
	Basis  string      `json:"basis,omitempty"` // owner, client, delegation
	At     events.Time `json:"at,omitzero"`
}

// Change gives one change of a plan. Errors: *NoSuch.
func (f *Fold) Change(key string) (ChangeView, error) {
	q := f.props[key]
	if q == nil {
		return ChangeView{}, &NoSuch{"change", key}
	}
	p := f.plans.row(q.Plan)
	v := ChangeView{Proposal: key, Plan: f.plans.Keys[q.Plan], Reason: q.Reason, Mismatch: q.Mismatch, By: f.names.text(q.Asked.Badge),
		Asked: q.Asked.At.time(), State: q.State, Rev: p.before(key, q), Declined: q.No.By, Why: q.No.Reason, Answered: q.No.Fact.At.time()}
	for _, r := range p.Revs {
		if r.Proposal == key {
			v.Answered = r.Fact.At.time()
		}
	}
	was, err := p.at(v.Plan, v.Rev)
	if err != nil {
		return v, err
	}
	v.Was = pieces(was)
	v.Is = v.Was
	for _, ch := range q.Changes {
		v.add(ch, was)
		v.Is += ch.Delta
	}
	v.Cartons = cartonsOf(was)
	for i := range v.Voices {
		f.hear(&v.Voices[i], q)
	}
	for _, l := range v.Lines {
		if c := f.cartons.get(l.Carton); c != nil && c.State == Counted && q.State == "open" && !slices.Contains(v.Counted, l.Carton) {
			v.Counted = append(v.Counted, l.Carton)
		}
	}
	slices.SortFunc(v.Voices, func(a, b Voice) int { return cmp.Compare(a.Owner, b.Owner) })
	return v, nil
}

// Changes lists every change that was asked for, by number.
func (f *Fold) Changes() []ChangeView {
	var out []ChangeView
	for _, key := range slices.Sorted(maps.Keys(f.props)) {
		if v, err := f.Change(key); err == nil {
			out = append(out, v)
		}
	}
	return out
}

// before gives the revision that a change starts from: the one before it took
// effect, the one in force while it waits, and else the one it was asked at.
func (p *plan) before(key string, q *proposal) int {
	rev := p.Revs[0].Rev
	for _, r := range p.Revs {
		if r.Proposal == key && q.State == "amended" {
			return rev
		}
		if q.State != "declined" || r.Fact.Ref < q.Asked.Ref {
			rev = r.Rev
		}
	}
	return rev
}

// add joins one change to the lines and to its owner's say.
func (v *ChangeView) add(ch events.PlanChange, was []events.PlanLine) {
	i := slices.IndexFunc(v.Lines, func(l ChangeLine) bool {
		return l.Carton == ch.Carton && l.Item == ch.Item && l.Owner == ch.Owner
	})
	if i < 0 {
		n := 0
		for _, l := range was {
			if l.Carton == ch.Carton && l.Item == ch.Item && l.Owner == ch.Owner {
				n = l.Q
			}
		}
		v.Lines = append(v.Lines, ChangeLine{ch.Carton, ch.Item, ch.Owner, n, n})
		i = len(v.Lines) - 1
	}
	v.Lines[i].Is += ch.Delta
	j := slices.IndexFunc(v.Voices, func(o Voice) bool { return o.Owner == ch.Owner })
	if j < 0 {
		v.Voices = append(v.Voices, Voice{Owner: ch.Owner})
		j = len(v.Voices) - 1
	}
	v.Voices[j].Pieces += max(ch.Delta, -ch.Delta)
}

// hear fills in who answered for an owner, and whether a client does.
func (f *Fold) hear(o *Voice, q *proposal) {
	for _, y := range q.Yes {
		if y.Owner == o.Owner {
			o.By, o.Basis, o.At = y.By, y.Basis, y.Fact.At.time()
		}
	}
	for _, b := range f.badges {
		o.Client = o.Client || b.OwnerOf == o.Owner && !b.Retired
	}
}

func cartonsOf(lines []events.PlanLine) int {
	seen := map[string]bool{}
	for _, l := range lines {
		seen[l.Carton] = true
	}
	return len(seen)
}
