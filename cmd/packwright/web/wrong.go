package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"packwright/audit"
	"packwright/cmd/packwright/door"
	"packwright/events"
	"packwright/workflow"
)

// wrongList is everything that does not match and is still open.
type wrongList struct {
	Sheet
	Go    audit.Go
	Rows  []wrongRow
	Raise *Form // what does not match can be raised from an office too
	Kinds []kindWord
}

// wrongRow is one open question on the list.
type wrongRow struct {
	audit.BoardMatter
	Says   string
	Pieces *Strokes // of the carton concerned, when it is one
	Number string
}

// wrongPage is one matter, or one carton.
type wrongPage struct {
	Sheet
	Key     string
	Matter  *audit.MatterView
	Cases   []Case
	Swaps   []string
	Drift   []string
	Nearby  []audit.NearbyItem
	Counts  []audit.CountsOf
	Minutes []Minutes
	Ways    Ways
	Acts    *Acts // nil: this badge only reads
	Names   names
	State   string // in words, with who has it since when

	why audit.Why
}

// kindWord is a kind of mismatch in words.
type kindWord struct {
	Kind events.Kind
	Says string // after the name of a carton, lot or bench
}

// kindWords says each kind the way people say it, in the order of the kinds.
var kindWords = []kindWord{
	{events.Short, "is short"}, {events.Over, "holds too many"}, {events.Unplanned, "holds what it should not"},
	{events.WrongCarton, "holds what another carton is for"}, {events.Twice, "has one mark twice"}, {events.Unknown, "holds something nobody knows"},
	{events.Unprepped, "holds a piece that is not ready"}, {events.Weight, "weighs wrong"}, {events.PlanChanged, "was counted before its plan changed"},
	{events.EarlySeal, "was sealed too early"}, {events.Late, "was told of late"}, {events.LabelBal, "has labels left over or missing"},
	{events.LotBal, "does not add up"}, {events.MixedLot, "holds two lots"}, {events.NoShow, "did not come in full"},
	{events.SealBroken, "has a broken seal"}, {events.OverWeight, "is too heavy"}, {events.OverSize, "is too large"},
	{events.HazStop, "was stopped as dangerous goods"}, {events.Quiet, "is silent"}, {events.Clock, "has a clock that is off"},
}

func saysKind(k events.Kind) string {
	for _, w := range kindWords {
		if w.Kind == k {
			return w.Says
		}
	}
	return strings.ToLower(string(k))
}

// headline says a matter in a few words; that pieces are missing says more than
// that the weight is off.
func headline(kinds []events.Kind, where []string) string {
	slices.SortStableFunc(kinds, func(a, b events.Kind) int { return placeOf(a) - placeOf(b) })
	if len(kinds) == 0 {
		return strings.Join(where, ", ")
	}
	says := saysKind(kinds[0])
	if len(where) > 1 {
		says = strings.NewReplacer("is ", "are ", "holds ", "hold ", "weighs ", "weigh ", "has ", "have ", "was ", "were ", "does ", "do ").Replace(says)
	}
	return strings.Join(where, " and ") + " " + says
}

func placeOf(k events.Kind) int {
	return slices.IndexFunc(kindWords, func(w kindWord) bool { return w.Kind == k })
}

// wrong lists the open questions.
func (p *Pages) wrong(w http.ResponseWriter, r *http.Request) {
	page := wrongList{}
	err := p.Log.Look(r.Context(), p.at(r), func(v View) error {
		page = p.wrongListOf(r.Context(), v)
		if p.at(r) == p.At {
			page.Live = "wrong"
			if page.Who.As()&(door.Supervisor|door.Owner) != 0 {
				f := form(page.Who, "raise", "/wrong")
				page.Raise, page.Kinds = &f, kindWords
			}
		}
		return nil
	})
	p.showOr(w, r, err, "wrong", &page)
}

func (p *Pages) wrongListOf(ctx context.Context, v View) wrongList {
	page := wrongList{Sheet: p.sheet(ctx, v, "What is wrong?")}
	page.Nav, page.Table, page.Styles = "/wrong", "table", []string{"desk.css", "wrong.css"}
	b := v.Board(v.Now)
	page.Go = b.Go
	for _, m := range b.Open {
		page.Rows = append(page.Rows, wrongRowOf(v, m))
	}
	return page
}

// wrongParts draws what can change of the list, or of one matter: its numbers, who
// has it, what may be done. Forms are not among it: each has a number for the one
// person it was drawn for, and may be half filled; what it asks for that is lawful
// no longer, the floor refuses.
func (p *Pages) wrongParts(ctx context.Context, v View, of string) ([]Part, error) {
	var page any
	var sheet Sheet
	name, parts := "wrong", []string{"wrong-go", "wrong-list", "wrong-facts"}
	if of == "" {
		list := p.wrongListOf(ctx, v)
		page, sheet = &list, list.Sheet
	} else {
		one, err := p.wrongPageOf(ctx, v, of)
		if err != nil {
			return nil, err
		}
		name, parts = "wrong-one", []string{"wrong-case", "wrong-state", "wrong-ways", "wrong-facts"}
		page, sheet = &one, one.Sheet
	}
	out, err := p.headParts(sheet)
	if err != nil {
		return nil, err
	}
	more, err := p.parts(name, page, parts...)
	return append(out, more...), err
}

func wrongRowOf(v View, m audit.BoardMatter) wrongRow {
	row := wrongRow{BoardMatter: m, Says: headline([]events.Kind{m.Kind}, m.Where)}
	why, err := v.Why(m.Mismatch)
	if err != nil {
		return row
	}
	if why.Matter != nil {
		row.Says = headline(kindsOf(*why.Matter), m.Where)
	}
	if len(why.Cartons) == 1 {
		c := why.Cartons[0]
		is := c.Scanned
		row.Number = fmt.Sprintf("%d of %d scanned", c.Scanned, c.Planned)
		if c.Counted != nil {
			is = *c.Counted
			row.Number = fmt.Sprintf("%d counted of %d scanned", is, c.Scanned)
		}
		s := strokesOf([]Pieces{{There: min(is, c.Planned), Missing: max(c.Planned-is, 0), Extra: max(is-c.Planned, 0)}})
		row.Pieces = &s
	}
	return row
}

func kindsOf(m audit.MatterView) []events.Kind {
	out := []events.Kind{m.Kind}
	for _, s := range m.Symptoms {
		if !slices.Contains(out, s.Kind) {
			out = append(out, s.Kind)
		}
	}
	return out
}

// wrongOne shows one matter, or one carton and what blocks it.
func (p *Pages) wrongOne(w http.ResponseWriter, r *http.Request) {
	page := wrongPage{}
	err := p.Log.Look(r.Context(), p.at(r), func(v View) (err error) {
		if page, err = p.wrongPageOf(r.Context(), v, r.PathValue("of")); err != nil || p.at(r) != p.At {
			return err
		}
		page.Live = "wrong/" + page.Key
		if page.Ways.List != nil && page.Who.As()&(door.Supervisor|door.Owner) != 0 {
			page.Acts = actsOf(v, page.Who, *page.Matter, page.why)
		}
		return nil
	})
	p.showOr(w, r, err, "wrong-one", &page)
}

// wrongPageOf draws one matter, without its forms. Errors: *audit.NoSuch.
func (p *Pages) wrongPageOf(ctx context.Context, v View, key string) (wrongPage, error) {
	why, err := v.Why(key)
	if err != nil {
		return wrongPage{}, err
	}
	page := wrongPage{Sheet: p.sheet(ctx, v, key), Key: key, why: why}
	page.Nav, page.Table, page.Styles = "/wrong", "table", []string{"desk.css", "wrong.css"}
	page.fill(v, why)
	if page.Matter == nil || page.Matter.State == "resolved" {
		return page, nil
	}
	options, err := v.Options(page.Matter.Mismatch, page.Who.Roles)
	if err == nil {
		page.Ways = waysOf(v, why, options)
	}
	return page, err
}

// fill takes the evidence over into the drawing.
func (x *wrongPage) fill(v View, why audit.Why) {
	x.Names = namesOf(v)
	var cartons []string
	for i, c := range why.Cartons {
		cartons = append(cartons, c.Carton)
		x.Cases = append(x.Cases, caseOf(c, why.Readings[i], why.Explained[i], x.Names))
	}
	for _, s := range why.Swaps {
		x.Swaps = append(x.Swaps, s.Words())
	}
	for _, d := range why.Drift {
		x.Drift = append(x.Drift, d.Words())
	}
	x.Matter, x.Nearby, x.Counts, x.Minutes = why.Matter, why.Nearby, why.Counts, minutesOf(why.Recent)
	x.Sheet.Name, x.Sheet.Where = x.headOf(why, cartons)
	x.State = x.Sheet.Where
	x.Sheet.Title = x.Sheet.Name
	if m := why.Matter; m != nil && m.State != "resolved" && m.Blocks {
		x.Ground = "no seal while " + m.Mismatch + " is open"
	}
}

// headOf gives the page's name, and whose it is since when.
func (x *wrongPage) headOf(why audit.Why, cartons []string) (name, where string) {
	var at []string
	for _, c := range why.Cartons {
		if c.Bench != "" && !slices.Contains(at, c.Bench) {
			at = append(at, c.Bench)
		}
	}
	if len(at) > 0 {
		where = "at " + strings.Join(at, " and ")
	}
	m := why.Matter
	if m == nil {
		return strings.Join(cartons, ", ") + ": nothing is wrong", where
	}
	if len(cartons) == 0 {
		cartons = whereOf(*m)
	}
	name = m.Mismatch + " · " + headline(kindsOf(*m), cartons)
	if where != "" {
		where += " · "
	}
	switch {
	case m.State == "resolved":
		where += fmt.Sprintf("settled %s by %s: %s", clockOf(m.Resolved), m.Approver, settledBy(*m))
	case m.By != "":
		where += fmt.Sprintf("%s has it since %s", m.By, clockOf(m.Taken))
	default:
		where += fmt.Sprintf("open since %s, nobody has it", clockOf(m.Raised))
	}
	return name, where
}

// whereOf names what a matter without cartons is about.
func whereOf(m audit.MatterView) []string {
	var out []string
	for _, s := range m.Symptoms {
		for _, w := range []string{s.Scope.Run, s.Scope.Lot, s.Scope.Station} {
			if w != "" && !slices.Contains(out, w) {
				out = append(out, w)
			}
		}
		if s.Scope.Mark > 0 {
			out = append(out, s.Scope.Mark.Display())
		}
	}
	if len(out) == 0 {
		return []string{"something"}
	}
	return out
}

// showOr shows a page, or says why not.
func (p *Pages) showOr(w http.ResponseWriter, r *http.Request, err error, name string, page any) {
	if err != nil {
		p.refuse(w, r, err)
		return
	}
	p.show(w, r, http.StatusOK, name, page)
}

// refuse says what kept a page or an act from being: a name that is not there is
// not found, all else has its own status.
func (p *Pages) refuse(w http.ResponseWriter, r *http.Request, err error) {
	var no *audit.NoSuch
	if errors.As(err, &no) {
		p.nothing(w, r, sentenceOf(err))
		return
	}
	p.answer(w, r, door.Answer{Outcome: workflow.No, Error: trouble(err)})
}

// nothing says that what was asked for is not there.
func (p *Pages) nothing(w http.ResponseWriter, r *http.Request, text string) {
	page := said{Sheet: Sheet{Title: "packwright", Name: "packwright", Who: door.WhoOf(r.Context()), Styles: []string{"said.css"}}, Word: "no", Text: text, Next: "Look at its name again.", Then: "/"}
	p.show(w, r, http.StatusNotFound, "said", page)
}
