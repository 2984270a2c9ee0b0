package workflow

import (
	"bytes"

	"packwright/prep"
)

// ParsePolicy reads a policy file over the defaults; persons: 1 begins from
// OnePerson instead. Switches are yes or no, measures have their unit, money is
// in minor units. Errors are *prep.InputError, joined, each with its place and
// the nearest known name.
func ParsePolicy(file string, src []byte) (*Policy, error) {
	if len(bytes.TrimSpace(src)) == 0 {
		return DefaultPolicy(), nil
	}
	p := DefaultPolicy()
	if err := p.read(file, src, nil); err != nil {
		return nil, err
	}
	if p.Persons == 1 {
		p = OnePerson()
	} else {
		p = DefaultPolicy()
	}
	if err := p.read(file, src, p.problems); err != nil {
		return nil, err
	}
	return p, nil
}

// read reads a file over what the policy holds.
func (p *Policy) read(file string, src []byte, check func(func(path, what, do string))) error {
	settings, done := p.settings()
	return prep.ReadSettings(file, src, settings, func(fail func(path, what, do string)) {
		done()
		if check != nil {
			check(fail)
		}
	})
}

// OnePerson is the policy of a kitchen table: nothing asks for a second badge,
// a tote label or a paper form, and the scale vouches where it can.
func OnePerson() *Policy {
	p := DefaultPolicy()
	p.Persons = 1
	p.Totes, p.Runs, p.HandCount, p.Balance = false, false, false, false
	p.QuietMinutes, p.QuietCall, p.IdleMinutes = 30, 0, 0
	return p
}

// settings is the file's table: every switch with its name. done puts the
// entries of its mappings into the policy.
func (p *Policy) settings() (list []prep.Setting, done func()) {
	w := &p.Weighing
	leaves, ends, orders := entriesOf(p.Delegated), entriesOf(p.Destinations), entriesOf(p.Reorder)
	done = func() { leaves.into(p.Delegated); ends.into(p.Destinations); orders.into(p.Reorder) }
	return []prep.Setting{
		{Name: "persons", Into: &p.Persons},
		{Name: "totes", Into: &p.Totes},
		{Name: "runs", Into: &p.Runs},
		{Name: "pair_check", Into: &p.PairCheck},
		{Name: "hand_count", Into: &p.HandCount},
		{Name: "second_hand", Into: &p.SecondHand},
		{Name: "scale", Into: &p.Scale},
		{Name: "label_balance", Into: &p.Balance},
		{Name: "clearances", Into: &p.Clearances},
		{Name: "supplies", Into: &p.Supplies},
		{Name: "reorder", Into: orders.named((*Reorder).settings)},
		{Name: "lifting", Into: p.Lifting.settings()},
		{Name: "second_one_in", Into: &p.SecondOneIn},
		{Name: "second_above", Into: &p.SecondAbove},
		{Name: "same_scan_ms", Into: &p.SameScanMS},
		{Name: "quiet_minutes", Into: &p.QuietMinutes},
		{Name: "quiet_call", Into: &p.QuietCall},
		{Name: "idle_minutes", Into: &p.IdleMinutes},
		{Name: "scale_hours", Into: &p.ScaleHours},
		{Name: "divert_limit", Into: &p.DivertLimit},
		{Name: "write_off_limit", Into: &p.WriteOff},
		{Name: "take_back_last", Into: &p.TakeBackLast},
		{Name: "take_back_minutes", Into: &p.TakeBackMin},
		{Name: "overrides_a_day", Into: &p.Overrides},
		{Name: "delegated", Into: leaves.named(func(d *Delegation) []prep.Setting {
			return []prep.Setting{{Name: "units", Into: &d.Units}, {Name: "percent", Into: &d.Percent}}
		})},
		{Name: "weighing", Into: []prep.Setting{
			{Name: "packing", Into: &w.Packing},
			{Name: "packing_sd", Into: &w.PackingSD},
			{Name: "tare_sd", Into: &w.TareSD},
			{Name: "scale_sd", Into: &w.ScaleSD},
		}},
		{Name: "destinations", Into: ends.named(func(d *Destination) []prep.Setting {
			return []prep.Setting{
				{Name: "max_mass", Into: &d.MaxMass},
				{Name: "max_side", Into: &d.MaxSide},
				{Name: "shelf_days", Into: &d.ShelfDays},
				{Name: "one_owner", Into: &d.OneOwner},
				{Name: "one_date", Into: &d.OneDate},
			}
		})},
	}, done
}

// entries are the values of a mapping by the owner's own names, while it is
// read. One that was there before is changed, not begun anew.
type entries[T any] map[string]*T

func entriesOf[T any](m map[string]T) entries[T] {
	out := entries[T]{}
	for name, v := range m {
		out[name] = &v
	}
	return out
}

// named gives the settings of an entry.
func (e entries[T]) named(settings func(*T) []prep.Setting) func(string) []prep.Setting {
	return func(name string) []prep.Setting {
		if e[name] == nil {
			e[name] = new(T)
		}
		return settings(e[name])
	}
}

func (e entries[T]) into(m map[string]T) {
	for name, v := range e {
		m[name] = *v
	}
}
