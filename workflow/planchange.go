package workflow

import (
	"cmp"
	"fmt"
	"slices"

	"packwright/events"
	"packwright/prep"
)

type proposeAsk struct {
	Plan    string              `json:"plan"`
	Changes []events.PlanChange `json:"changes"`
	Reason  string              `json:"reason"`
	plan    *Plan
}

func (in *proposeAsk) check() error {
	if len(in.Changes) == 0 || in.Reason == "" {
		return prep.Input("the changes or their reason are missing", "say what changes by how many, and why")
	}
	for _, c := range in.Changes {
		if !plainWord(c.Carton) {
			return prep.Input("a change names no carton", "name cartons with letters, digits and hyphens, as in C-07")
		}
	}
	return nil
}

// answerAsk says yes or no to a proposal. Without Owner it is for every owner
// this badge may speak for.
type answerAsk struct {
	Proposal string `json:"proposal"`
	Owner    string `json:"owner"`
	Reason   string `json:"reason"`
	prop     *Proposal
	plan     *Plan
	voices   []voice
}

// voice is an owner a badge may speak for, and by what right.
type voice struct {
	owner string
	basis string // owner, client, delegation
}

// changeRules change a plan in force.
var changeRules = []rule{
	on(rule{Name: "propose", Who: anyone, Moves: []Move{{"proposal", "", "waiting"}}}, []gate[proposeAsk]{
		{Gate{"a plan in force", "E-PLN-01", ""}, func(d *decision, in *proposeAsk) *Refusal {
			if in.plan = d.f.Plans[in.Plan]; in.plan == nil {
				return refuse("E-PLN-01", in.Plan)
			}
			return nil
		}},
		{Gate{"changes that are not 0", "E-INT-05", ""}, eachChange(func(d *decision, in *proposeAsk, c *events.PlanChange) *Refusal {
			if c.Delta == 0 {
				return refuse("E-INT-05", 0)
			}
			return nil
		})},
		{Gate{"items of the catalogue", "E-INT-06", ""}, eachChange(func(d *decision, in *proposeAsk, c *events.PlanChange) *Refusal {
			return d.listed(c.Item)
		})},
		{Gate{"cartons of this plan, or new ones", "E-PLN-08", ""}, eachChange(func(d *decision, in *proposeAsk, c *events.PlanChange) *Refusal {
			return d.ofPlan(in.plan, c.Carton)
		})},
		{Gate{"each line's owner", "E-PLN-09", ""}, eachChange(func(d *decision, in *proposeAsk, c *events.PlanChange) *Refusal {
			if c.Owner = cmp.Or(c.Owner, in.plan.ownerOf(c.Carton, c.Item), d.f.Items[c.Item].Owner); c.Owner == "" {
				return refuse("E-PLN-09", c.Item, c.Carton)
			}
			return nil
		})},
		{Gate{"cartons that are not sealed", "E-PLN-02", ""}, func(d *decision, in *proposeAsk) *Refusal {
			return d.notFrozen(in.Changes)
		}},
		{Gate{"no line below 0", "E-PLN-03", ""}, func(d *decision, in *proposeAsk) *Refusal {
			return d.notBelow(in.plan, in.Changes)
		}},
		{Gate{"one owner in a carton", "E-PLN-10", ""}, func(d *decision, in *proposeAsk) *Refusal {
			return d.oneOwner(in.plan.Policy, in.plan.amended(in.Changes))
		}},
	}, func(d *decision, in *proposeAsk) {
		d.emit(&events.PlanChangeProposed{Proposal: fmt.Sprintf("PC-%02d", d.f.Next.Proposal+1), Plan: in.Plan, Changes: in.Changes, Reason: in.Reason})
	}),

	on(rule{Name: "approve", Who: askers, Moves: []Move{{"proposal", "waiting", "approved"}, {"plan", "released", "amended"},
		{"plan", "amended", "amended"}, {"carton", "counted", "open"}, {"unit", "contents-counted", "prepped"}}}, []gate[answerAsk]{
		aProposal, notAnswered(false),
		{Gate{"the owner's badge, the client's for own lines, or a supervisor within delegation", "E-PLN-04", ""}, mayAnswer},
		{Gate{"cartons that are still not sealed", "E-PLN-02", ""}, func(d *decision, in *answerAsk) *Refusal {
			return d.notFrozen(in.prop.Changes)
		}},
		{Gate{"still no line below 0", "E-PLN-03", ""}, func(d *decision, in *answerAsk) *Refusal {
			return d.notBelow(in.plan, in.prop.Changes)
		}},
		{Gate{"still one owner in a carton", "E-PLN-10", ""}, func(d *decision, in *answerAsk) *Refusal {
			return d.oneOwner(in.plan.Policy, in.plan.amended(in.prop.Changes))
		}},
	}, decideApprove),

	on(rule{Name: "decline", Who: anyone, Moves: []Move{{"proposal", "waiting", "declined"}}}, []gate[answerAsk]{
		aProposal, notAnswered(true),
		{Gate{"whoever may approve a line of it, or who proposed it", "E-PLN-04", ""}, func(d *decision, in *answerAsk) *Refusal {
			if in.prop.By == d.badge.Badge || len(d.voices(in)) > 0 {
				return nil
			}
			return refuse("E-PLN-04")
		}},
	}, func(d *decision, in *answerAsk) {
		d.emit(&events.PlanChangeDeclined{Proposal: in.Proposal, By: d.badge.Badge, Reason: in.Reason})
	}),
}

// aProposal is the gate that there is one.
var aProposal = gate[answerAsk]{Gate{"a proposal there is", "E-SYS-07", ""}, func(d *decision, in *answerAsk) *Refusal {
	if in.prop = d.f.Proposals[in.Proposal]; in.prop == nil {
		return refuse("E-SYS-07", "Change "+in.Proposal)
	}
	in.plan = d.f.Plans[in.prop.Plan]
	if d.c.Matter == "" && in.prop.Matter != "" {
		c := *d.c
		c.Matter = in.prop.Matter
		d.c = &c
	}
	return nil
}}

// notAnswered gives the gate that a proposal waits for an answer. The same
// answer again changes nothing; the other one comes too late.
func notAnswered(no bool) gate[answerAsk] {
	return gate[answerAsk]{Gate{"it waits for an answer", "E-PLN-05", ""}, func(d *decision, in *answerAsk) *Refusal {
		switch p := in.prop; {
		case p.Answered.IsZero():
			return nil
		case p.Declined == no:
			return again(refuse("E-PLN-05", p.Answered.Clock()))
		default:
			return refuse("E-PLN-05", p.Answered.Clock())
		}
	}}
}

// mayAnswer finds the owners this badge answers for that have not answered yet.
func mayAnswer(d *decision, in *answerAsk) *Refusal {
	all := d.voices(in)
	if len(all) == 0 {
		return refuse("E-PLN-04")
	}
	in.voices = slices.DeleteFunc(all, func(v voice) bool { return in.prop.Approved[v.owner] != "" })
	if len(in.voices) == 0 {
		return again(refuse("E-PLN-05", in.prop.Last.Clock()))
	}
	return nil
}

// voices lists the owners of a proposal's lines this badge may speak for.
func (d *decision) voices(in *answerAsk) (out []voice) {
	for _, o := range ownersOf(in.prop.Changes) {
		if in.Owner != "" && in.Owner != o {
			continue
		}
		if by := d.f.voiceOf(d.badge, in.plan, o, in.prop.Changes); by != "" {
			out = append(out, voice{o, by})
		}
	}
	return out
}

// ownersOf lists whose lines are changed, sorted.
func ownersOf(changes []events.PlanChange) (out []string) {
	for _, c := range changes {
		out = append(out, c.Owner)
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// hasClient says whether an owner's goods are a client's, who answers for them.
func (f *Floor) hasClient(owner string) bool {
	for _, b := range f.Badges {
		if b.OwnerOf == owner && !b.Retired && slices.Contains(b.Roles, events.Client) {
			return true
		}
	}
	return false
}

// delegated says whether all of an owner's changes are small enough for a
// supervisor: by units and by percent of the line, the smaller of the two.
func (f *Floor) delegated(p *Plan, owner string, changes []events.PlanChange) bool {
	leave, ok := f.policy.Delegated[owner]
	if !ok {
		return false
	}
	net := map[lineKey]int{}
	for _, c := range changes {
		if c.Owner == owner {
			net[lineKey{c.Carton, c.Item, c.Owner}] += c.Delta
		}
	}
	for k, delta := range net {
		most := min(leave.Units, p.line(k)*leave.Percent/100)
		if max(delta, -delta) > most {
			return false
		}
	}
	return true
}
