package web

import (
	"fmt"
	"net/url"
	"slices"
	"strings"

	"packwright/audit"
	"packwright/cmd/packwright/door"
	"packwright/prep"
)

// tellMark tells of one piece, or of what became of its label.
func (s *storyPage) tellMark(v View, m prep.Mark) error {
	t, err := v.TraceMark(m)
	if err != nil {
		return err
	}
	t.Units = slices.DeleteFunc(t.Units, func(u audit.UnitTrace) bool { return !s.Who.Owns(u.Owner) })
	if s.Client && len(t.Units) == 0 {
		return &audit.NoSuch{Kind: "mark", Name: m.String()}
	}
	s.Name = m.Display()
	if l := t.Label; l != nil {
		s.Sure = labelSure(l, t)
		for _, u := range t.Units {
			s.Units = append(s.Units, u.Mark)
		}
		if l.ReplacedBy > 0 && !s.Client {
			s.Units = append(s.Units, l.ReplacedBy)
		}
		return nil
	}
	u := t.Units[0]
	s.Name += " · " + nameOf(u.Name, u.Item)
	s.Sure = &Certainty{N: 1, Word: "One piece, exactly.", Prose: sureOfUnit(u, t), Class: "kept"}
	s.Lives = []Life{lifeOfUnit(v, u, s.Client)}
	if s.Client {
		s.Known, s.Unknown = known(u, true), unknown(u.Journey)
		return nil
	}
	if s.Sets, err = v.SiblingsOf(m, beside); err != nil {
		return err
	}
	s.Beside = besideOf(s.Sets, m)
	s.Known, s.Unknown = known(u, false), unknown(u.Journey)
	s.Odds = oddsOf(s.Sets)
	s.cartonOf(v, u.Journey)
	return nil
}

// cartonOf draws the carton and the load that a piece went with.
func (s *storyPage) cartonOf(v View, j *audit.Journey) {
	if j == nil {
		return
	}
	if c, ok := v.Contents(j.Carton); ok && s.Who.Owns("") {
		s.carton(c)
		s.Links = append(s.Links, Wait{c.Carton, "its carton", "/story?code=" + url.QueryEscape(c.Carton)})
	}
	if l, err := v.Load(j.Load); err == nil && j.Load != "" && s.Who.Owns("") {
		s.Load = loadDrawing(l, j.Carton)
		s.Links = append(s.Links, Wait{l.Load, "its load", "/story?code=" + url.QueryEscape(l.Load)})
	}
}

func (s *storyPage) carton(c audit.Contents) {
	box := boxOf(audit.BoardCarton{Carton: c.Carton, State: c.State, Planned: c.Planned, Scanned: c.Scanned, Blockers: c.Blockers, Load: c.Load}, fills(c))
	s.Box = &box
}

// tellSets tells of pieces that no mark names: how many fit, and why not fewer.
func (s *storyPage) tellSets(v View, kind audit.NameKind, key string, ask audit.Ask) error {
	t, err := v.TraceUnits(ask)
	if err != nil {
		return err
	}
	before := t.Size
	t.Sets = slices.DeleteFunc(t.Sets, func(x audit.SetTrace) bool { return !s.Who.Owns(x.Owner) })
	t.Size = 0
	for _, x := range t.Sets {
		t.Size += x.Q
		for _, m := range x.Marks {
			s.Units = append(s.Units, m)
		}
		if !slices.Contains(s.Items, x.Item) {
			s.Items = append(s.Items, x.Item)
		}
	}
	if s.Client && t.Size == 0 {
		return &audit.NoSuch{Kind: string(kind), Name: key}
	}
	s.Name = key
	if kind == audit.NamedItem {
		s.Name += " · every lot of it"
	}
	s.Sure = sureOfSet(t, len(s.Units), before)
	for i, x := range t.Sets {
		if i == mostLives {
			break
		}
		s.Lives = append(s.Lives, lifeOfSet(v, x, s.Client))
	}
	s.Unknown = unknownOfSets(t)
	if s.Client {
		return nil
	}
	if c, ok := v.Contents(key); ok {
		s.carton(c)
		if l, err := v.Load(c.Load); c.Load != "" && err == nil {
			s.Load = loadDrawing(l, c.Carton)
		}
		s.Links = append(s.Links, Wait{key, "planned, scanned, counted, weighed", "/wrong/" + url.PathEscape(key)})
		if s.Who.As()&door.Hands != 0 {
			s.Links = append(s.Links, Wait{key, "its label and contents sheet, on paper", "/print?carton=" + url.QueryEscape(key)})
		}
	}
	if axis, ok := map[audit.NameKind]audit.Axis{audit.NamedRun: audit.ByRun, audit.NamedLot: audit.ByLot, audit.NamedCarton: audit.ByCarton}[kind]; ok {
		if set, err := v.SiblingsAlong(axis, key); err == nil {
			s.Sets = []audit.Siblings{set}
		}
	}
	return nil
}

// tellMaterial tells which pieces got material from one lot of it.
func (s *storyPage) tellMaterial(v View, key string) error {
	if s.Client {
		return &audit.NoSuch{Kind: "material lot", Name: key}
	}
	set, err := v.SiblingsAlong(audit.ByMaterial, key)
	if err != nil {
		return err
	}
	s.Name, s.Sets, s.Units = key+" · a lot of material", []audit.Siblings{set}, set.Marks
	s.Sure = &Certainty{N: set.N, Class: "kept", Word: pieces(set.N) + " got some of it.", Prose: whereabouts(set)}
	if set.AtMost {
		s.Sure.Class, s.Sure.Word = "call", "At most "+pieces(set.N)+"; the log cannot say which."
	}
	for _, x := range v.Supplies().Supplies {
		if x.MatLot == key {
			s.Known = append(s.Known, fmt.Sprintf("It is %s; runs %s took from it.", x.Material, strings.Join(x.Runs, ", ")))
		}
	}
	return nil
}

// tellLoad tells what one truck took.
func (s *storyPage) tellLoad(v View, key string) error {
	if s.Client {
		return &audit.NoSuch{Kind: "load", Name: key}
	}
	l, err := v.Load(key)
	if err != nil {
		return err
	}
	n := 0
	for _, name := range l.Cartons {
		c, _ := v.Contents(name)
		n += c.Scanned
		s.Links = append(s.Links, Wait{name, pieces(c.Scanned) + ", seal " + c.Seal, "/story?code=" + url.QueryEscape(name)})
	}
	s.Name = key + " · a load"
	s.Load = loadDrawing(l, "")
	s.Sure = &Certainty{N: max(n, 1), Word: fmt.Sprintf("%d cartons, %s.", len(l.Cartons), pieces(n)), Class: "kept", Prose: "Each carton was counted and sealed before it went on."}
	if l.Closed.IsZero() {
		s.Sure.Prose, s.Sure.Class = "The truck has not left.", "call"
	}
	if len(l.Left) > 0 {
		s.Known = append(s.Known, "Left behind: "+strings.Join(l.Left, ", ")+".")
	}
	return nil
}

// tellTote tells what lies in a tote now.
func (s *storyPage) tellTote(v View, key string) error {
	at, err := v.Where(key)
	if err != nil {
		return err
	}
	n := 0
	for _, x := range at.Here {
		lot, _ := v.Lot(x.Lot)
		if !s.Who.Owns(lot.Owner) {
			continue
		}
		n += x.Q
		s.Units = append(s.Units, x.Marks...)
		s.Links = append(s.Links, Wait{x.Lot, fmt.Sprintf("%s of %s, %s", pieces(x.Q), x.Item, x.Stage), "/story?code=" + url.QueryEscape(x.Lot)})
	}
	if s.Client && n == 0 {
		return &audit.NoSuch{Kind: "tote", Name: key}
	}
	s.Name = key + " · " + at.Kind
	s.Sure = &Certainty{N: max(n, 1), Word: pieces(n) + " in it now.", Class: "kept", Prose: "What lay in it before is told by each lot and run."}
	if n > 0 && len(s.Units) < n {
		s.Sure.Class, s.Sure.Word = "call", fmt.Sprintf("One of %d; the log cannot say which.", n)
	}
	return nil
}
