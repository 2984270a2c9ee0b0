package audit

import (
	"fmt"
	"slices"

	"packwright/events"
	"packwright/prep"
)

// matter is one mismatch with all its symptoms.
type matter struct {
	Kind       events.Kind
	Blocks     bool
	State      string // raised, taken, fixed, resolved, reopened
	Raised     fact
	Symptoms   []symptom // the first is what raised it
	By         name      // who has it
	Taken      fact
	Notes      []note
	Actions    []string
	Fixed      fact
	Resolution string
	Approver   string
	AfterCheck string
	Where      string
	Resolved   fact
	Trail      trail
}

type symptom struct {
	Kind                      events.Kind
	Scope                     events.Scope
	Planned, Scanned, Counted *int
	Weighed, Residual         *prep.Mass
	Fact                      fact
}

type note struct {
	Text string
	Fact fact
}

func (m *matter) open() bool { return m.State != "resolved" }

// hinders says that the matter keeps its cartons from being sealed.
func (m *matter) hinders() bool { return m.Blocks && m.open() }

func (f *Fold) matterOf(e *events.Event, key string) (*matter, error) {
	id, ok := f.matters.find(key)
	if !ok {
		return nil, fmt.Errorf("there is no mismatch %q", key)
	}
	m := f.matters.change(id)
	m.Trail.add(e.Seq.Frame)
	return m, nil
}

func (f *Fold) mismatchRaised(e *events.Event, d *events.MismatchRaised) error {
	if _, ok := f.matters.find(d.Mismatch); ok || d.Mismatch == "" {
		return fmt.Errorf("mismatch %q was raised before", d.Mismatch)
	}
	m := f.matters.change(f.matters.id(d.Mismatch))
	m.Kind, m.Blocks, m.State, m.Raised = d.Kind, d.Blocks, "raised", f.fact(e)
	m.Trail.add(e.Seq.Frame)
	f.sign(e, m, d.Mismatch, symptomOf(d.Kind, d.Scope, d.Evidence))
	return nil
}

func (f *Fold) mismatchSymptomAdded(e *events.Event, d *events.MismatchSymptomAdded) error {
	m, err := f.matterOf(e, d.Mismatch)
	if err != nil {
		return err
	}
	f.sign(e, m, d.Mismatch, symptomOf(d.Kind, d.Scope, d.Evidence))
	if m.State == "fixed" { // a new sign: not put right after all
		m.State, m.Fixed = "taken", fact{}
		if m.By == 0 {
			m.State = "raised"
		}
	}
	return nil
}

func symptomOf(k events.Kind, s events.Scope, v events.Evidence) symptom {
	return symptom{Kind: k, Scope: s, Planned: v.Planned, Scanned: v.Scanned, Counted: v.Counted, Weighed: v.Weighed, Residual: v.Residual}
}

// sign adds a symptom and ties the matter to the carton it speaks of.
func (f *Fold) sign(e *events.Event, m *matter, key string, s symptom) {
	s.Fact = f.fact(e)
	m.Symptoms = append(m.Symptoms, s)
	if c := f.cartons.changeOf(s.Scope.Carton); c != nil {
		id, _ := f.matters.find(key)
		if !slices.Contains(c.Matters, id) {
			c.Matters = append(c.Matters, id)
		}
		c.Trail.add(e.Seq.Frame)
	}
}

func (f *Fold) mismatchTaken(e *events.Event, d *events.MismatchTaken) error {
	m, err := f.matterOf(e, d.Mismatch)
	if err != nil {
		return err
	}
	m.By, m.Taken = f.names.id(d.By), f.fact(e)
	if m.State == "raised" || m.State == "reopened" {
		m.State = "taken"
	}
	return nil
}

func (f *Fold) mismatchNoted(e *events.Event, d *events.MismatchNoted) error {
	m, err := f.matterOf(e, d.Mismatch)
	if err == nil {
		m.Notes = append(m.Notes, note{d.Text, f.fact(e)})
	}
	return err
}

func (f *Fold) mismatchFixed(e *events.Event, d *events.MismatchFixed) error {
	m, err := f.matterOf(e, d.Mismatch)
	if err == nil {
		m.State, m.Actions, m.Fixed = "fixed", d.Actions, f.fact(e)
	}
	return err
}

func (f *Fold) mismatchResolved(e *events.Event, d *events.MismatchResolved) error {
	m, err := f.matterOf(e, d.Mismatch)
	if err != nil {
		return err
	}
	if !m.open() {
		return fmt.Errorf("mismatch %s is resolved", d.Mismatch)
	}
	m.State, m.Resolved = "resolved", f.fact(e)
	begun := m.Taken
	if begun.Ref == 0 {
		begun = m.Raised
	}
	f.paces.settled(d.Resolution, m.Resolved.At.since(begun.At))
	m.Resolution, m.Approver, m.AfterCheck, m.Where = d.Resolution, d.Approver, d.AfterCheck, d.Where
	return nil
}

func (f *Fold) mismatchReopened(e *events.Event, d *events.MismatchReopened) error {
	m, err := f.matterOf(e, d.Mismatch)
	if err != nil {
		return err
	}
	if m.open() {
		return fmt.Errorf("mismatch %s is open", d.Mismatch)
	}
	m.State = "reopened"
	m.Notes = append(m.Notes, note{"opened again: " + d.Reason, f.fact(e)})
	return nil
}

// hindering lists the open matters that block a carton.
func (f *Fold) hindering(c *carton) []string {
	var out []string
	for _, id := range c.Matters {
		if f.matters.row(id).hinders() {
			out = append(out, f.matters.Keys[id])
		}
	}
	return out
}
