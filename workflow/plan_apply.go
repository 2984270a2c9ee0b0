package workflow

import (
	"slices"

	"packwright/events"
)

func (f *Floor) planReleased(e *events.Event, d *events.PlanReleased) error {
	p := &Plan{Plan: d.Plan, Rev: d.Rev, Policy: d.Policy, Lines: slices.Clone(d.Lines)}
	f.Plans[d.Plan] = p
	f.planCartons(p)
	return nil
}

// planCartons makes a record for each carton a plan names.
func (f *Floor) planCartons(p *Plan) {
	for _, l := range p.Lines {
		if f.Cartons[l.Carton] == nil && !f.Past[l.Carton] {
			f.Cartons[l.Carton] = &Carton{Carton: l.Carton, Plan: p.Plan, State: CartonPlanned}
		}
	}
}

func (f *Floor) planChangeProposed(e *events.Event, d *events.PlanChangeProposed) error {
	if f.Plans[d.Plan] == nil {
		return unplaced("plan", d.Plan)
	}
	f.Proposals[d.Proposal] = &Proposal{Proposal: d.Proposal, Plan: d.Plan, Changes: slices.Clone(d.Changes), By: e.Badge,
		Matter: e.Mismatch, Approved: map[string]string{}}
	f.Next.Proposal++
	return nil
}

func (f *Floor) planChangeApproved(e *events.Event, d *events.PlanChangeApproved) error {
	p := f.Proposals[d.Proposal]
	if p == nil {
		return unplaced("proposal", d.Proposal)
	}
	if p.Approved == nil { // a snapshot leaves an empty map out
		p.Approved = map[string]string{}
	}
	p.Approved[d.Owner], p.Last = d.By, e.Recorded
	return nil
}

func (f *Floor) planAmended(e *events.Event, d *events.PlanAmended) error {
	p, change := f.Plans[d.Plan], f.Proposals[d.Proposal]
	if p == nil || change == nil {
		return unplaced("plan or proposal", d.Plan+" "+d.Proposal)
	}
	cartons := touched(d.Changes)
	p.Lines = p.amended(d.Changes)
	p.Rev, p.Amended, p.AmendedSeq = d.Rev, e.Recorded, e.Seq
	f.planCartons(p)
	for _, code := range cartons {
		if c := f.Cartons[code]; c != nil {
			c.Changed, c.ChangedRev = e.Recorded, d.Rev
		}
	}
	change.Answered = e.Recorded
	return nil
}

func (f *Floor) planChangeDeclined(e *events.Event, d *events.PlanChangeDeclined) error {
	p := f.Proposals[d.Proposal]
	if p == nil {
		return unplaced("proposal", d.Proposal)
	}
	p.Answered, p.Declined = e.Recorded, true
	return nil
}

// planClosed forgets a plan, its proposals and its cartons that stayed empty;
// those that left go with their load.
func (f *Floor) planClosed(e *events.Event, d *events.PlanClosed) error {
	if f.Plans[d.Plan] == nil {
		return unplaced("plan", d.Plan)
	}
	delete(f.Plans, d.Plan)
	f.Past[d.Plan] = true
	for code, p := range f.Proposals {
		if p.Plan == d.Plan {
			delete(f.Proposals, code)
		}
	}
	for code, c := range f.Cartons {
		if c.Plan == d.Plan && (c.State == CartonPlanned || c.State == CartonVoid) {
			delete(f.Cartons, code)
			f.Past[code] = true
		}
	}
	return nil
}
