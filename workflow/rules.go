package workflow

import "packwright/events"

// Move is one arrow of the state machine: a command takes a thing from a state
// to another. From "" is birth, To "" is the end.
type Move struct {
	Of   string `json:"of"` // unit, lot, run, carton, load, plan, mismatch, session, claim
	From string `json:"from"`
	To   string `json:"to"`
}

// Gate says what a command needs, and how it is refused when that is not so.
type Gate struct {
	Needs    string `json:"needs"`
	Code     Code   `json:"code"`
	Override string `json:"override,omitempty"` // name under which it can be overridden; empty: by nobody
}

// gate is a Gate with its test: shut gives the refusal, or nil when it is open.
type gate[T any] struct {
	Gate
	shut func(d *decision, in *T) *Refusal
}

// rule is one command.
type rule struct {
	Name  string        `json:"name"`
	Who   []events.Role `json:"who"` // nil: no badge is asked for (the floor's own clockwork)
	Moves []Move        `json:"moves,omitempty"`
	Gates []Gate        `json:"gates"`
	Late  bool          `json:"late,omitempty"` // hands did it already: refused from an outbox, it is kept as a statement
	blank func() any
	run   func(d *decision, in any) *Refusal
}

// on completes a rule with its typed gates and what follows when all are open.
// An override that covers a shut gate opens it, but only for what that gate is
// about: a refusal with another code stands.
func on[T any](r rule, gates []gate[T], then func(d *decision, in *T)) rule {
	for _, g := range gates {
		r.Gates = append(r.Gates, g.Gate)
	}
	r.blank = func() any { return new(T) }
	r.run = func(d *decision, in any) *Refusal {
		t := in.(*T)
		for _, g := range gates {
			if no := g.shut(d, t); no != nil {
				if g.Override != "" && no.Code == g.Code && d.overridden(g.Override) {
					continue
				}
				return no
			}
		}
		then(d, t)
		return nil
	}
	return r
}

// who may give a command.
var (
	packers     = []events.Role{events.Packer, events.Lead, events.Supervisor, events.Owner}
	supervisors = []events.Role{events.Supervisor, events.Owner}
	owners      = []events.Role{events.Owner}
	askers      = []events.Role{events.Supervisor, events.Owner, events.Client}
	anyone      = []events.Role{events.Packer, events.Lead, events.Supervisor, events.Owner, events.Client}
)

// rules is the whole table, by name.
var rules = collect(foundingRules, catalogueRules, benchRules, intakeRules, toteRules, triageRules, runRules, labelRules,
	cartonRules, countRules, loadRules, planRules, mismatchRules, overrideRules, claimRules, supplyRules, headRules, restoredRules)

func collect(lists ...[]rule) map[string]*rule {
	all := map[string]*rule{}
	for _, list := range lists {
		for i := range list {
			r := &list[i]
			if all[r.Name] != nil {
				panic("two rules named " + r.Name)
			}
			for _, g := range r.Gates {
				if _, ok := texts[g.Code]; !ok {
					panic(r.Name + ": no text for " + string(g.Code))
				}
			}
			all[r.Name] = r
		}
	}
	return all
}
