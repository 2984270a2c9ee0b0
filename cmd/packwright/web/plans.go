package web

import (
	"cmp"
	"fmt"
	"net/http"
	"slices"
	"strconv"

	"packwright/audit"
	"packwright/cmd/packwright/door"
	"packwright/events"
)

// plansPage lists the plans, and the changes that were asked for.
type plansPage struct {
	Sheet
	Plans   []planRow
	Changes []changeRow
	Import  bool // this badge may bring a plan in
}

type planRow struct {
	Plan    string
	Rev     int
	Pieces  int
	Cartons int
	Closed  bool
}

type changeRow struct {
	audit.ChangeView
	Says string
}

// planPage is two revisions of a plan side by side.
type planPage struct {
	Sheet
	audit.PlanView
	From, To  int
	Delta     int
	Cartons   []planCarton
	Revisions []audit.PlanRevision
	Waiting   []changeRow
	Own       bool // only the lines of one client are shown
	Names     names
	Ask       string // path to ask for a change; empty: not for this badge
}

// planCarton is one carton's lines in both revisions.
type planCarton struct {
	Carton string
	Lines  []planLine
}

type planLine struct {
	Item, Owner string
	Was, Is     int
	Draw        *Strokes
}

// Changed says whether a carton differs between the two.
func (c planCarton) Changed() bool {
	return slices.ContainsFunc(c.Lines, func(l planLine) bool { return l.Was != l.Is })
}

// plans lists them.
func (p *Pages) plans(w http.ResponseWriter, r *http.Request) {
	page := plansPage{}
	err := p.Log.Look(r.Context(), p.at(r), func(v View) error {
		page.Sheet = p.sheet(r.Context(), v, "What shall leave?")
		page.Nav, page.Table, page.Styles = "/plans", "table", []string{"desk.css", "plans.css"}
		page.Import = page.Who.As()&(door.Supervisor|door.Owner) != 0
		for _, name := range v.Plans() {
			if row, ok := planRowOf(v, page.Who, name); ok {
				page.Plans = append(page.Plans, row)
			}
		}
		for _, c := range v.Changes() {
			if c, ok := ownChange(c, page.Who); ok {
				page.Changes = append(page.Changes, changeRow{c, changeSays(c)})
			}
		}
		slices.Reverse(page.Changes)
		return nil
	})
	p.hush(r.Context(), page.Changes)
	p.showOr(w, r, err, "plans", &page)
}

// planRowOf counts what a badge may see of a plan; false: nothing.
func planRowOf(v View, who door.Who, name string) (planRow, bool) {
	plan, err := v.PlanAt(name, 0)
	if err != nil {
		return planRow{}, false
	}
	row := planRow{Plan: name, Rev: plan.Rev, Closed: plan.Closed}
	var cartons []string
	for _, l := range ownLines(plan.Lines, who) {
		row.Pieces += l.Q
		if !slices.Contains(cartons, l.Carton) {
			cartons = append(cartons, l.Carton)
		}
	}
	row.Cartons = len(cartons)
	return row, row.Cartons > 0 || who.Owns("")
}

// ownLines leaves out what is not this badge's to see.
func ownLines(lines []events.PlanLine, who door.Who) []events.PlanLine {
	return slices.DeleteFunc(slices.Clone(lines), func(l events.PlanLine) bool { return !who.Owns(l.Owner) })
}

// ownChange cuts a change to the lines and voices of the owners this badge may
// be shown; false: none of it.
func ownChange(c audit.ChangeView, who door.Who) (audit.ChangeView, bool) {
	all := len(c.Lines)
	c.Lines = slices.DeleteFunc(slices.Clone(c.Lines), func(l audit.ChangeLine) bool { return !who.Owns(l.Owner) })
	c.Voices = slices.DeleteFunc(slices.Clone(c.Voices), func(o audit.Voice) bool { return !who.Owns(o.Owner) })
	if len(c.Lines) == all {
		return c, all > 0
	}
	c.Counted = slices.DeleteFunc(slices.Clone(c.Counted), func(carton string) bool {
		return !slices.ContainsFunc(c.Lines, func(l audit.ChangeLine) bool { return l.Carton == carton })
	})
	return c, len(c.Lines) > 0
}

// changeSays says how far a change has come.
func changeSays(c audit.ChangeView) string {
	switch c.State {
	case "amended":
		return fmt.Sprintf("approved %s, r%d since then", clockOf(c.Answered), c.Rev+1)
	case "declined":
		return fmt.Sprintf("declined %s by %s", clockOf(c.Answered), c.Declined)
	}
	var waits []string
	for _, o := range c.Voices {
		if o.By == "" {
			waits = append(waits, o.Owner)
		}
	}
	return fmt.Sprintf("asked %s, waits for %s", clockOf(c.Asked), joinAnd(waits))
}

func joinAnd(list []string) string {
	switch n := len(list); n {
	case 0:
		return "nobody here"
	case 1:
		return list[0]
	default:
		return fmt.Sprintf("%s and %s", commas(list[:n-1]), list[n-1])
	}
}

func commas(list []string) string {
	s := ""
	for i, x := range list {
		if i > 0 {
			s += ", "
		}
		s += x
	}
	return s
}

// plan shows two revisions side by side: the one in force beside the one before,
// unless others are asked for.
func (p *Pages) plan(w http.ResponseWriter, r *http.Request) {
	page := planPage{}
	err := p.Log.Look(r.Context(), p.at(r), func(v View) error {
		now, err := v.PlanAt(r.PathValue("plan"), 0)
		if err != nil {
			return err
		}
		page.Sheet = p.sheet(r.Context(), v, "Plan "+now.Plan)
		page.Nav, page.Table, page.Styles = "/plans", "table", []string{"desk.css", "plans.css"}
		page.Own, page.Names = !page.Who.Owns(""), namesOf(v)
		page.To = revOf(r, "to", now.Latest)
		page.From = revOf(r, "from", max(page.To-1, 1))
		was, err := v.PlanAt(now.Plan, page.From)
		if err != nil {
			return err
		}
		if page.PlanView, err = v.PlanAt(now.Plan, page.To); err != nil {
			return err
		}
		page.Revisions = page.PlanView.Revisions
		page.fill(v, ownLines(was.Lines, page.Who), ownLines(page.Lines, page.Who))
		if len(page.Cartons) == 0 && page.Own {
			return &audit.NoSuch{Kind: "plan", Name: now.Plan}
		}
		if page.Who.As()&(door.Supervisor|door.Owner|door.Client) != 0 && !now.Closed && p.at(r) == p.At {
			page.Ask = "/plans/" + now.Plan + "/ask"
		}
		return nil
	})
	p.hush(r.Context(), page.Waiting)
	p.showOr(w, r, err, "plan", &page)
}

func revOf(r *http.Request, name string, other int) int {
	if n, err := strconv.Atoi(r.URL.Query().Get(name)); err == nil && n > 0 {
		return n
	}
	return other
}

// fill puts both revisions' lines together, carton by carton.
func (x *planPage) fill(v View, was, is []events.PlanLine) {
	x.Where = fmt.Sprintf("r%d beside r%d, for %s", x.From, x.To, x.Policy)
	x.Cartons, x.Delta, x.Pieces = besides(was, is)
	for i := range x.Cartons {
		for j := range x.Cartons[i].Lines {
			l := &x.Cartons[i].Lines[j]
			s := strokesOf([]Pieces{{There: min(l.Was, l.Is), Missing: max(l.Was-l.Is, 0), Extra: max(l.Is-l.Was, 0)}})
			l.Draw = &s
		}
	}
	if x.Own { // what others agreed to is theirs
		x.Revisions = slices.Clone(x.Revisions)
		for i := range x.Revisions {
			r := &x.Revisions[i]
			r.Approved = slices.DeleteFunc(slices.Clone(r.Approved), func(b string) bool { return b != x.Who.Badge })
			r.Delta = x.ownDelta(v, r.Rev)
		}
	}
	for _, c := range v.Changes() {
		if c.Plan != x.Plan || c.State != "open" {
			continue
		}
		if c, ok := ownChange(c, x.Who); ok {
			x.Waiting = append(x.Waiting, changeRow{c, changeSays(c)})
		}
	}
}

// ownDelta is by how many of this badge's pieces a revision changed the plan.
func (x *planPage) ownDelta(v View, rev int) int {
	is, err := v.PlanAt(x.Plan, rev)
	if err != nil {
		return 0
	}
	_, n, of := besides(nil, ownLines(is.Lines, x.Who))
	if was, err := v.PlanAt(x.Plan, rev-1); err == nil && rev > 1 {
		_, _, before := besides(nil, ownLines(was.Lines, x.Who))
		n = of - before
	}
	return n
}

// besides joins two lists of lines, carton by carton; delta is in pieces, is how
// many the second has.
func besides(was, is []events.PlanLine) (out []planCarton, delta, pieces int) {
	line := func(l events.PlanLine) *planLine {
		i := slices.IndexFunc(out, func(c planCarton) bool { return c.Carton == l.Carton })
		if i < 0 {
			out = append(out, planCarton{Carton: l.Carton})
			i = len(out) - 1
		}
		c := &out[i]
		j := slices.IndexFunc(c.Lines, func(o planLine) bool { return o.Item == l.Item && o.Owner == l.Owner })
		if j < 0 {
			c.Lines = append(c.Lines, planLine{Item: l.Item, Owner: l.Owner})
			j = len(c.Lines) - 1
		}
		return &c.Lines[j]
	}
	for _, l := range was {
		line(l).Was += l.Q
		delta -= l.Q
	}
	for _, l := range is {
		line(l).Is += l.Q
		delta += l.Q
		pieces += l.Q
	}
	slices.SortStableFunc(out, func(a, b planCarton) int { return cmp.Compare(a.Carton, b.Carton) })
	return out, delta, pieces
}
