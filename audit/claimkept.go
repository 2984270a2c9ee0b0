package audit

import (
	"fmt"
	"slices"

	"packwright/events"
)

// ClaimNote is what came to light about a claim.
type ClaimNote struct {
	Text   string      `json:"text,omitempty"`
	File   string      `json:"file,omitempty"`   // kept elsewhere
	Digest string      `json:"digest,omitempty"` // its SHA-256, hexadecimal
	At     events.Time `json:"at"`
	By     string      `json:"by"`
	Place  events.Seq  `json:"seq"`
}

// SiblingCheck is what was seen of the units that share something with the one
// complained of.
type SiblingCheck struct {
	Axis   string      `json:"axis"`
	Set    string      `json:"set"`
	Of     int         `json:"of"`
	Looked int         `json:"looked_at"`
	Bad    int         `json:"bad"`
	Seed   int64       `json:"seed,omitempty"`
	Text   string      `json:"text,omitempty"`
	At     events.Time `json:"at"`
	By     string      `json:"by"`
	Place  events.Seq  `json:"seq"`
}

// Says tells what was seen, in a sentence.
func (c SiblingCheck) Says() string {
	s := fmt.Sprintf("%s %s: %d of %d looked at, %d bad", c.Axis, c.Set, c.Looked, c.Of, c.Bad)
	if c.Text != "" {
		s += ": " + c.Text
	}
	return s
}

func (f *Fold) claimEvidenceAdded(e *events.Event, d *events.ClaimEvidenceAdded) error {
	c, err := f.claimOf(e, d.Claim)
	if err == nil {
		c.Notes = append(c.Notes, ClaimNote{d.Text, d.File, d.Digest, e.At, e.Badge, e.Seq})
	}
	return err
}

func (f *Fold) claimSiblingsChecked(e *events.Event, d *events.ClaimSiblingsChecked) error {
	c, err := f.claimOf(e, d.Claim)
	if err == nil {
		c.Checks = append(c.Checks, SiblingCheck{d.Axis, d.Set, d.Of, d.Looked, d.Bad, d.Seed, d.Text, e.At, e.Badge, e.Seq})
	}
	return err
}

func (f *Fold) claimLinked(e *events.Event, d *events.ClaimLinked) error {
	c, err := f.claimOf(e, d.Claim)
	if err != nil {
		return err
	}
	first := f.claims[d.DupOf]
	if first == nil {
		return fmt.Errorf("there is no claim %q", d.DupOf)
	}
	f.claimEnds(c)
	c.State, c.DupOf, c.Closed = "linked", d.DupOf, f.fact(e)
	first.Again = append(first.Again, d.Claim)
	first.Trail.add(e.Seq.Frame)
	return nil
}

// kept adds to a claim's view what was kept about it.
func (c *claim) kept(v *ClaimView) {
	v.DupOf, v.Again = c.DupOf, slices.Clone(c.Again)
	v.Notes, v.Checks = slices.Clone(c.Notes), slices.Clone(c.Checks)
	v.Statement = c.Statement
	v.DecidedAt, v.ClosedAt = c.Decided.At.time(), c.Closed.At.time()
}

// claimLaws are about what was answered to the other side.
var claimLaws = []Law{
	{"an answer stands", "a claim is traced before it is decided; once it is decided, or linked to an earlier one, nothing more is found",
		func(l *Laws, e *events.Event, _ *Fold) string {
			key, state, _ := claimStep(e)
			was := l.claims[key]
			switch d, _ := e.Data.(*events.ClaimLinked); {
			case key == "" || state == "opened" && was == "":
				return ""
			case was == "":
				return fmt.Sprintf("claim %s was never opened", key)
			case d != nil && l.claims[d.DupOf] == "":
				return fmt.Sprintf("claim %s is linked to %q, which was never opened", key, d.DupOf)
			case state == "closed" && was == "decided":
				return ""
			case was != "opened" && was != "traced" || state == "opened" || state == "closed", (state == "decided" || state == "checked") && was != "traced":
				return fmt.Sprintf("claim %s is %s", key, was)
			}
			return ""
		}},
}

// claimStep gives the claim that an event is about, the state it comes to, and
// whether that state lasts: what is only noted changes none.
func claimStep(e *events.Event) (key, state string, lasts bool) {
	switch d := e.Data.(type) {
	case *events.ClaimOpened:
		return d.Claim, "opened", true
	case *events.ClaimTraced:
		return d.Claim, "traced", true
	case *events.ClaimEvidenceAdded:
		return d.Claim, "noted", false
	case *events.ClaimSiblingsChecked:
		return d.Claim, "checked", false
	case *events.ClaimLinked:
		return d.Claim, "linked", true
	case *events.ClaimDecided:
		return d.Claim, "decided", true
	case *events.ClaimClosed:
		return d.Claim, "closed", true
	}
	return "", "", false
}

func (l *Laws) rememberClaim(e *events.Event) {
	if key, state, lasts := claimStep(e); lasts {
		l.claims[key] = state
	}
}
