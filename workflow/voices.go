package workflow

import (
	"slices"

	"packwright/events"
)

// VoicesOf lists the owners of a waiting change's lines a badge may speak for: a
// client for its own, the floor's owner where there is no client, a supervisor
// within what was delegated. None for a change that is not there.
func (f *Floor) VoicesOf(badge, proposal string) (owners []string) {
	p, b := f.Proposals[proposal], f.Badges[badge]
	if p == nil || b == nil || b.Retired || f.Plans[p.Plan] == nil {
		return nil
	}
	for _, o := range ownersOf(p.Changes) {
		if f.voiceOf(b, f.Plans[p.Plan], o, p.Changes) != "" {
			owners = append(owners, o)
		}
	}
	return owners
}

// voiceOf says by what a badge speaks for an owner's lines: client, owner,
// delegation; empty when it may not.
func (f *Floor) voiceOf(b *Badge, p *Plan, owner string, changes []events.PlanChange) string {
	is := func(r events.Role) bool { return slices.Contains(b.Roles, r) }
	switch {
	case is(events.Client) && b.OwnerOf == owner:
		return "client"
	case is(events.Owner) && !f.hasClient(owner):
		return "owner"
	case is(events.Supervisor) && f.delegated(p, owner, changes):
		return "delegation"
	}
	return ""
}
