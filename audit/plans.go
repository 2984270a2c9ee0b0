package audit

import (
	"fmt"
	"slices"

	"packwright/events"
)

// plan is a shipment's plan with all its revisions.
type plan struct {
	Policy  string
	Rev     int
	Cartons []cartonID // in the order they were planned
	Revs    []revision
	Closed  fact
}

// revision is what one release or amendment changed. The first holds all lines.
type revision struct {
	Rev      int
	Proposal string
	Changes  []events.PlanChange
	Approved []string
	Fact     fact
}

// proposal is a change that waits for those who must agree.
type proposal struct {
	Plan     planID
	Changes  []events.PlanChange
	Reason   string
	Asked    fact
	Yes      []yes
	State    string // open, amended, declined
	Mismatch string
	No       no // who declined it
}

type no struct {
	By, Reason string
	Fact       fact
}

type yes struct {
	By, Owner, Basis string
	Fact             fact
}

func (f *Fold) planReleased(e *events.Event, d *events.PlanReleased) error {
	if _, ok := f.plans.find(d.Plan); ok {
		return fmt.Errorf("plan %s was released before", d.Plan)
	}
	id := f.plans.id(d.Plan)
	p := f.plans.change(id)
	p.Policy, p.Rev = d.Policy, d.Rev
	rev := revision{Rev: d.Rev, Approved: []string{e.Badge}, Fact: f.fact(e)}
	for _, l := range d.Lines {
		rev.Changes = append(rev.Changes, events.PlanChange{Carton: l.Carton, Item: l.Item, Owner: l.Owner, Delta: l.Q})
	}
	p.Revs = append(p.Revs, rev)
	return f.change(e, id, d.Rev, rev.Changes)
}

func (f *Fold) planAmended(e *events.Event, d *events.PlanAmended) error {
	id, ok := f.plans.find(d.Plan)
	if !ok {
		return fmt.Errorf("there is no plan %q", d.Plan)
	}
	p := f.plans.change(id)
	if d.Rev != p.Rev+1 {
		return fmt.Errorf("plan %s r%d follows r%d", d.Plan, d.Rev, p.Rev)
	}
	p.Rev = d.Rev
	p.Revs = append(p.Revs, revision{Rev: d.Rev, Proposal: d.Proposal, Changes: d.Changes, Approved: d.Approved, Fact: f.fact(e)})
	if q := f.props[d.Proposal]; q != nil {
		q.State = "amended"
		f.paces.answered(stampOf(e.At).since(q.Asked.At))
	}
	return f.change(e, id, d.Rev, d.Changes)
}

// change adds a revision's changes to the lines of the cartons.
func (f *Fold) change(e *events.Event, id planID, rev int, list []events.PlanChange) error {
	p := f.plans.change(id)
	for _, ch := range list {
		cid, c := f.newCarton(ch.Carton)
		if c.Plan != 0 && c.Plan != id {
			return fmt.Errorf("carton %s is of plan %s", ch.Carton, f.plans.Keys[c.Plan])
		}
		if c.Plan == 0 || !slices.Contains(p.Cartons, cid) {
			c.Plan = id
			p.Cartons = append(p.Cartons, cid)
		}
		c.Trail.add(e.Seq.Frame)
		item, owner := f.names.id(ch.Item), f.names.id(ch.Owner)
		i := slices.IndexFunc(c.Lines, func(l planLine) bool { return l.Item == item && l.Owner == owner })
		if i < 0 {
			c.Lines = append(c.Lines, planLine{Item: item, Owner: owner})
			i = len(c.Lines) - 1
		}
		l := &c.Lines[i]
		l.Q, l.Rev = l.Q+ch.Delta, rev
	}
	for _, ch := range list { // a line may be named twice: what counts is where it ends
		for _, l := range f.cartons.get(ch.Carton).Lines {
			if l.Q < 0 {
				return fmt.Errorf("plan r%d leaves %d of %s in %s", rev, l.Q, f.names.text(l.Item), ch.Carton)
			}
		}
	}
	return nil
}

func (f *Fold) planChangeProposed(e *events.Event, d *events.PlanChangeProposed) error {
	id, ok := f.plans.find(d.Plan)
	if !ok || f.props[d.Proposal] != nil {
		return fmt.Errorf("proposal %s for plan %q", d.Proposal, d.Plan)
	}
	f.props[d.Proposal] = &proposal{Plan: id, Changes: d.Changes, Reason: d.Reason, Asked: f.fact(e), State: "open", Mismatch: e.Mismatch}
	return nil
}

func (f *Fold) planChangeApproved(e *events.Event, d *events.PlanChangeApproved) error {
	q := f.props[d.Proposal]
	if q == nil {
		return fmt.Errorf("there is no proposal %q", d.Proposal)
	}
	q.Yes = append(q.Yes, yes{d.By, d.Owner, d.Basis, f.fact(e)})
	return nil
}

func (f *Fold) planChangeDeclined(e *events.Event, d *events.PlanChangeDeclined) error {
	q := f.props[d.Proposal]
	if q == nil {
		return fmt.Errorf("there is no proposal %q", d.Proposal)
	}
	q.State, q.No = "declined", no{d.By, d.Reason, f.fact(e)}
	return nil
}

func (f *Fold) planClosed(e *events.Event, d *events.PlanClosed) error {
	p := f.plans.changeOf(d.Plan)
	if p == nil {
		return fmt.Errorf("there is no plan %q", d.Plan)
	}
	p.Closed = f.fact(e)
	return nil
}
