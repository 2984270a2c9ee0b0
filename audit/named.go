package audit

import (
	"strings"

	"packwright/events"
	"packwright/prep"
)

// NameKind is the kind of a thing that a code may name.
type NameKind string

// What a code may name.
const (
	NamedMark     NameKind = "mark"
	NamedCarton   NameKind = "carton"
	NamedLot      NameKind = "lot"
	NamedRun      NameKind = "run"
	NamedLoad     NameKind = "load"
	NamedTote     NameKind = "tote"
	NamedItem     NameKind = "item"
	NamedMaterial NameKind = "material lot"
	NamedMismatch NameKind = "mismatch"
	NamedClaim    NameKind = "claim"
	NamedSerial   NameKind = "serial number"
)

// Named says what a code names, whatever was scanned or typed: a mark by its
// symbol or as people read it, a name of this floor, the number of a seal, or the
// 18 digits of a carton, with or without their application identifier; of these
// two the carton is named. Nothing fits: *NoSuch.
func (f *Fold) Named(code string) (NameKind, string, error) {
	code = strings.TrimSpace(code)
	if m, err := prep.ParseMark(code); err == nil {
		return NamedMark, m.String(), nil
	}
	for _, as := range []string{code, strings.ToUpper(code)} {
		if kind, ok := f.namedExactly(as); ok {
			return kind, as, nil
		}
	}
	if key, ok := f.cartonBySeal(code); ok {
		return NamedCarton, key, nil
	}
	return "", "", &NoSuch{"thing named", code}
}

func (f *Fold) namedExactly(code string) (NameKind, bool) {
	if _, ok := f.cartons.find(code); ok {
		return NamedCarton, true
	}
	if _, ok := f.lots.find(code); ok {
		return NamedLot, true
	}
	if _, ok := f.runs.find(code); ok {
		return NamedRun, true
	}
	if _, ok := f.loads.find(code); ok {
		return NamedLoad, true
	}
	if _, ok := f.matters.find(code); ok {
		return NamedMismatch, true
	}
	if _, ok := f.claims[code]; ok {
		return NamedClaim, true
	}
	if _, ok := f.matlots[code]; ok {
		return NamedMaterial, true
	}
	if _, ok := f.items[code]; ok {
		return NamedItem, true
	}
	if _, ok := f.serials[code]; ok {
		return NamedSerial, true
	}
	_, ok := f.places.find(code)
	return NamedTote, ok
}

// cartonBySeal finds the carton that a seal is or was on, or that 18 digits were
// given to; the newest where several fit.
func (f *Fold) cartonBySeal(code string) (string, bool) {
	number := strings.NewReplacer("(", "", ")", "", " ", "").Replace(code)
	if len(number) == 20 {
		number = strings.TrimPrefix(number, "00")
	}
	found := ""
	for id, c := range f.cartons.all() {
		for _, s := range c.Seals {
			if s.Number == code || string(s.Code) == number {
				found = f.cartons.Keys[id]
			}
		}
	}
	return found, found != ""
}

// LotView is one lot as it came in.
type LotView struct {
	Lot       string      `json:"lot"`
	Item      string      `json:"item"`
	Owner     string      `json:"owner,omitempty"`
	Announced int         `json:"announced,omitempty"`
	Received  int         `json:"received"` // with corrections; of a bundle's lot what was made
	At        events.Time `json:"opened_at"`
	Closed    events.Time `json:"closed_at,omitzero"`
	Runs      []string    `json:"runs,omitempty"`
	Of        []string    `json:"of_lots,omitempty"` // of a bundle's lot: what went into it
	Frames    []uint64    `json:"frames"`
}

// Lot gives one lot as it came in. Errors: *NoSuch.
func (f *Fold) Lot(key string) (LotView, error) {
	id, ok := f.lots.find(key)
	if !ok {
		return LotView{}, &NoSuch{"lot", key}
	}
	l := f.lots.row(id)
	v := LotView{Lot: key, Item: f.names.text(l.Item), Owner: f.names.text(l.Owner), Announced: l.Announced, Received: l.Received,
		At: l.Opened.At.time(), Closed: l.Closed.At.time(), Runs: f.runNames(l.Runs), Frames: l.Trail.frames()}
	for _, p := range l.Parts {
		v.Of = append(v.Of, f.lots.Keys[p.Lot])
	}
	return v, nil
}

// LoadView is one truck's load.
type LoadView struct {
	Load    string      `json:"load"`
	Due     events.Time `json:"due,omitzero"`
	Closed  events.Time `json:"left_at,omitzero"`
	Cartons []string    `json:"cartons"`
	Left    []string    `json:"left_behind,omitempty"`
}

// Load gives one truck's load. Errors: *NoSuch.
func (f *Fold) Load(key string) (LoadView, error) {
	id, ok := f.loads.find(key)
	if !ok {
		return LoadView{}, &NoSuch{"load", key}
	}
	ld := f.loads.row(id)
	v := LoadView{Load: key, Due: ld.Due.time(), Closed: ld.Closed.At.time(), Left: ld.Left}
	for _, c := range ld.Cartons {
		v.Cartons = append(v.Cartons, f.cartons.Keys[c])
	}
	return v, nil
}
