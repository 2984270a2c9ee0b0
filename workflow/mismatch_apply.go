package workflow

import (
	"time"

	"packwright/events"
)

// tenMinutes is how long one person alone must let a carton rest before the
// same hand counts as a second look.
const tenMinutes = 10 * time.Minute

func (f *Floor) mismatchRaised(e *events.Event, d *events.MismatchRaised) error {
	m := &Matter{Matter: d.Mismatch, Kinds: []events.Kind{d.Kind}, Scopes: []events.Scope{d.Scope}, Blocks: d.Blocks, Raised: e.Recorded}
	if d.Residual != nil {
		m.Residual = *d.Residual
	}
	f.Matters[d.Mismatch] = m
	f.Next.Matter++
	return nil
}

func (f *Floor) mismatchSymptomAdded(e *events.Event, d *events.MismatchSymptomAdded) error {
	return f.matter(d.Mismatch, func(m *Matter) {
		m.Kinds = append(m.Kinds, d.Kind)
		m.Scopes = append(m.Scopes, d.Scope)
		if d.Residual != nil && m.Residual == 0 {
			m.Residual = *d.Residual
		}
		m.Fixed, m.FixedSeq = events.Time{}, events.Seq{} // a new sign: not fixed after all
	})
}

func (f *Floor) mismatchTaken(e *events.Event, d *events.MismatchTaken) error {
	return f.matter(d.Mismatch, func(m *Matter) { m.TakenBy, m.TakenAt = d.By, e.Recorded })
}

func (f *Floor) mismatchNoted(e *events.Event, d *events.MismatchNoted) error {
	return f.matter(d.Mismatch, func(*Matter) {})
}

func (f *Floor) mismatchFixed(e *events.Event, d *events.MismatchFixed) error {
	return f.matter(d.Mismatch, func(m *Matter) { m.Fixed, m.FixedSeq, m.FixedBy = e.Recorded, e.Seq, e.Badge })
}

func (f *Floor) mismatchResolved(e *events.Event, d *events.MismatchResolved) error {
	return f.matter(d.Mismatch, func(m *Matter) { m.Resolved = e.Recorded })
}

func (f *Floor) mismatchReopened(e *events.Event, d *events.MismatchReopened) error {
	return f.matter(d.Mismatch, func(m *Matter) {
		*m = Matter{Matter: m.Matter, Kinds: m.Kinds, Scopes: m.Scopes, Blocks: m.Blocks, Raised: m.Raised, Residual: m.Residual}
	})
}

// matter changes a mismatch that must be there.
func (f *Floor) matter(code string, change func(*Matter)) error {
	m := f.Matters[code]
	if m == nil {
		return unplaced("mismatch", code)
	}
	change(m)
	return nil
}

// dropMatters forgets matters that are resolved and whose goods have left.
func (f *Floor) dropMatters() {
	for code, m := range f.Matters {
		if !m.Resolved.IsZero() && !stays(m.Scopes, f.strange) {
			delete(f.Matters, code)
		}
	}
}

// stays says whether one of the scopes is still of this floor.
func stays(scopes []events.Scope, strange func(events.Scope) string) bool {
	for _, s := range scopes {
		if strange(s) == "" {
			return true
		}
	}
	return false
}
