package audit

import (
	"fmt"
	"slices"
	"strings"

	"packwright/prep"
)

// TraceCode answers for whatever code was scanned or typed, with the smallest set
// of units that the log can name by it; Why says how it was understood. Errors:
// *NoSuch for a code that names nothing here, *NotPrinted for a mark that was
// never printed, *prep.InputError for one that was misread.
func (f *Fold) TraceCode(code string) (Trace, error) {
	kind, key, err := f.Named(code)
	if err != nil {
		if _, slip := prep.ParseMark(code); strings.HasPrefix(strings.ToUpper(strings.TrimSpace(code)), "M-") {
			return Trace{}, slip // a label of ours, misread
		}
		return Trace{}, err
	}
	switch kind {
	case NamedMark:
		m, err := prep.ParseMark(code)
		if err != nil {
			return Trace{}, err
		}
		return f.TraceMark(m)
	case NamedSerial:
		return f.TraceUnits(Ask{Serial: key})
	case NamedCarton:
		return f.TraceUnits(Ask{Carton: key})
	case NamedLot:
		return f.TraceUnits(Ask{Lot: key})
	case NamedRun:
		return f.TraceUnits(Ask{Run: key})
	case NamedItem:
		return f.TraceUnits(Ask{Item: key})
	case NamedClaim:
		c, err := f.Claim(key)
		if err != nil {
			return Trace{}, err
		}
		t, err := f.traceClaim(c)
		return t.understood(kind, key), err
	}
	t, err := f.traceMany(kind, key)
	return t.understood(kind, key), err
}

// understood says what a code was taken for, where that is not plain from the answer.
func (t Trace) understood(kind NameKind, key string) Trace {
	t.Query = fmt.Sprintf("%s %s (%s)", kind, key, strings.TrimPrefix(t.Query, "of "))
	return t
}

// traceMany puts together what several cartons, or a place, or a roll name.
func (f *Fold) traceMany(kind NameKind, key string) (Trace, error) {
	t := Trace{Head: f.last, Cells: f.digest.String()}
	switch kind {
	case NamedLoad:
		l, err := f.Load(key)
		if err != nil {
			return t, err
		}
		return f.traceCartons(t, l.Cartons)
	case NamedMismatch:
		m := f.matters.get(key)
		if list := m.cartons(); len(list) > 0 {
			return f.traceCartons(t, list)
		}
		for _, s := range m.Symptoms {
			for _, code := range []string{s.Scope.Run, s.Scope.Lot} {
				if code != "" {
					return f.TraceCode(code)
				}
			}
			if s.Scope.Mark > 0 {
				return f.TraceMark(s.Scope.Mark)
			}
		}
		t.Query, t.Why = "no goods", "the mismatch speaks of no goods"
		return t, nil
	case NamedMaterial:
		return f.traceMaterial(t, key), nil
	}
	return f.tracePlace(t, key), nil
}

// traceCartons traces each carton, and puts the answers together.
func (f *Fold) traceCartons(t Trace, cartons []string) (Trace, error) {
	t.Query = strings.Join(cartons, ", ")
	for _, key := range cartons {
		one, err := f.TraceUnits(Ask{Carton: key})
		if err != nil {
			return t, err
		}
		t.Size += one.Size
		t.Sets = append(t.Sets, one.Sets...)
		t.Parts = append(t.Parts, one.Parts...)
	}
	t.Why = fmt.Sprintf("all that was in %s, counted together; ask for a carton or a mark to see less", plural(len(cartons), "carton"))
	return t, nil
}

// traceMaterial gives the units that got of a lot of material.
func (f *Fold) traceMaterial(t Trace, key string) Trace {
	s := f.along(ByMaterial, key, setKey{kind: ofMaterial, of: int32(f.names.lookup(key))})
	t.Query, t.Size = "units that got of it", s.N
	t.Why = "every unit that got of it, by the runs it was used in"
	if s.AtMost {
		t.Why = "at most these: which units of a run got of it is not known where it was changed half-way or several runs were poured together"
	}
	if s.More > 0 {
		t.Why += "; of many, ask siblings " + key
	}
	for _, r := range f.matlots[key].Runs {
		row := f.runs.row(r)
		set := SetTrace{Item: f.names.text(row.Item), Lot: f.lots.Keys[row.Lot], Q: row.Made, Runs: []RunShare{{f.runs.Keys[r], row.Made}}}
		set.Prep = append(set.Prep, f.prepTrace(origin{Run: r}, set.Item))
		for _, m := range s.Marks {
			if u := f.look(m); u.Run == r {
				set.Marks = append(set.Marks, m)
			}
		}
		t.Sets = append(t.Sets, set)
	}
	return t
}

// tracePlace gives what lies in a place now; a tote that is empty says so.
func (f *Fold) tracePlace(t Trace, key string) Trace {
	t.Query = "what lies there"
	at, ok := f.places.find(key)
	if !ok {
		return t
	}
	for _, q := range f.parcelsAt(at) {
		t.Size += q.q
		t.Sets = append(t.Sets, f.setTrace(q, at))
	}
	slices.SortStableFunc(t.Sets, func(a, b SetTrace) int { return strings.Compare(a.Lot, b.Lot) })
	if t.Why = f.whySet(t); t.Size == 0 {
		t.Why = "nothing lies there now"
	}
	return t
}
