package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"packwright/audit"
	"packwright/cmd/packwright/door"
	"packwright/prep"
)

// claimsPage lists what the other side says.
type claimsPage struct {
	Sheet
	Rows []claimRow
	Open *Form // nil: this badge only reads
	Kind []string
}

type claimRow struct {
	audit.ClaimView
	Said  string
	Days  int  // until the answer is due; below 0: so many too late
	Waits bool // for an answer
}

// claimPage is one claim: what is said, what the log answers, how sure that is.
type claimPage struct {
	Sheet
	audit.Statement
	DueSays  string
	Certain  string // how many pieces the answer names, before any story
	Shortage *shortView
	Siblings string // path of those made beside it
	Same     []claimRow
	Forms    *claimForms
	Findings []string
	Letter   string // what would be sent
}

// shortView is the evidence against a shortage.
type shortView struct {
	audit.Shortage
	Gauge *Gauge
}

type claimForms struct{ Trace, Note, Link, Decide, Close Form }

var (
	claimKinds    = []string{"damaged", "short", "over", "wrong-item", "unlabelled", "unprepared", "other"}
	claimFindings = []string{"ours", "carrier", "destination", "maker", "unknown"}
)

// claims lists them, those that wait for an answer first.
func (p *Pages) claims(w http.ResponseWriter, r *http.Request) {
	page := claimsPage{Kind: claimKinds}
	err := p.Log.Look(r.Context(), p.at(r), func(v View) error {
		page.Sheet = p.sheet(r.Context(), v, "What do they say?")
		page.Nav, page.Table, page.Styles = "/claimed", "table", []string{"desk.css", "claims.css"}
		for _, c := range v.Claims() {
			page.Rows = append(page.Rows, claimRowOf(v, c))
		}
		slices.SortStableFunc(page.Rows, func(a, b claimRow) int { return claimRank(a) - claimRank(b) })
		if page.Who.As()&(door.Supervisor|door.Owner) != 0 && p.at(r) == p.At {
			f := form(page.Who, "open-claim", "/claimed")
			page.Open = &f
		}
		return nil
	})
	p.showOr(w, r, err, "claims", &page)
}

func claimRank(c claimRow) int {
	if c.Waits {
		return 0
	}
	return 1
}

func claimRowOf(v View, c audit.ClaimView) claimRow {
	row := claimRow{ClaimView: c, Said: claimSaid(c), Waits: c.State != "closed" && c.State != "linked" && !c.Due.IsZero()}
	if row.Waits {
		row.Days = int(c.Due.Sub(v.Now).Hours() / 24)
	}
	return row
}

// claimSaid says what the other side named.
func claimSaid(c audit.ClaimView) string {
	var parts []string
	if c.Given.Mark > 0 {
		parts = append(parts, c.Given.Mark.Display())
	}
	if c.Given.Item != "" {
		parts = append(parts, fmt.Sprintf("%d %s", c.Qty, c.Given.Item))
	}
	if c.Given.Carton != "" {
		parts = append(parts, "in "+c.Given.Carton)
	}
	if len(parts) == 0 {
		return "no mark, item or carton"
	}
	return strings.Join(parts, " ")
}

// claim shows one claim; its statement is the same for paper.
func (p *Pages) claim(w http.ResponseWriter, r *http.Request)     { p.claimAs(w, r, "claim") }
func (p *Pages) statement(w http.ResponseWriter, r *http.Request) { p.claimAs(w, r, "statement") }

func (p *Pages) claimAs(w http.ResponseWriter, r *http.Request, name string) {
	page := claimPage{Findings: claimFindings}
	err := p.Log.Look(r.Context(), p.at(r), func(v View) error {
		s, err := v.StatementOf(r.PathValue("claim"), v.Root)
		if err != nil {
			return err
		}
		c := s.Claim
		page.Sheet = p.sheet(r.Context(), v, fmt.Sprintf("%s · %s, %s", c.Claim, c.Kind, claimSaid(c)))
		page.Nav, page.Styles = "/claimed", []string{"desk.css", "claims.css"}
		page.Statement = s
		page.fill(v)
		if page.Who.As()&(door.Supervisor|door.Owner) != 0 && p.at(r) == p.At {
			to := func(kind string) Form { return form(page.Who, kind, "/claimed/"+c.Claim) }
			page.Forms = &claimForms{to("trace-claim"), to("note-claim"), to("link-claim"), to("decide-claim"), to("close-claim")}
		}
		return nil
	})
	p.showOr(w, r, err, name, &page)
}

// fill adds what a desk needs beside the statement.
func (x *claimPage) fill(v View) {
	c := x.Claim
	x.Where = fmt.Sprintf("%s, opened %s", c.State, dayOf(c.Opened))
	row := claimRowOf(v, c)
	switch {
	case row.Waits && row.Days < 0:
		x.DueSays = fmt.Sprintf("The answer was due %d days ago, %s.", -row.Days, dayOf(c.Due))
	case row.Waits:
		x.DueSays = fmt.Sprintf("The answer is due in %d days, %s.", row.Days, dayOf(c.Due))
	}
	x.Certain = certainOf(x.Trace)
	if x.Trace != nil && len(x.Trace.Units) == 1 {
		x.Siblings = "/story?code=" + x.Trace.Units[0].Mark.String()
	}
	if x.Short != nil {
		x.Shortage = &shortView{*x.Short, shortGauge(*x.Short)}
	}
	for _, o := range v.Claims() {
		if o.Claim != c.Claim && sameGoods(o, c) {
			x.Same = append(x.Same, claimRowOf(v, o))
		}
	}
	var b strings.Builder
	_ = x.Statement.Text(&b) // a Builder takes everything
	x.Letter = b.String()
}

// certainOf says how many pieces an answer names.
func certainOf(t *audit.Trace) string {
	switch {
	case t == nil || t.Size == 0:
		return "Nothing here matches"
	case t.Size == 1:
		return "One piece, exactly"
	}
	return fmt.Sprintf("One of %d; the log cannot say which", t.Size)
}

// sameGoods says whether two claims may be one: the same order, or the same mark.
func sameGoods(a, b audit.ClaimView) bool {
	return a.Given.Order != "" && a.Given.Order == b.Given.Order || a.Given.Mark > 0 && a.Given.Mark == b.Given.Mark
}

// traceOf asks the log what a claim's words name. Errors: those of audit, and
// *prep.InputError where nothing is named.
func traceOf(v View, c audit.ClaimView) (audit.Trace, error) {
	switch g := c.Given; {
	case g.Mark > 0:
		return v.TraceMark(g.Mark)
	case g.Item != "" || g.Carton != "":
		return v.TraceUnits(audit.Ask{Item: g.Item, Carton: g.Carton})
	}
	return audit.Trace{}, prep.Input(c.Claim+" names no mark, item or carton", "ask the other side which")
}

// shortGauge draws the reading beside what it would have been.
func shortGauge(s audit.Shortage) *Gauge {
	if s.Read == 0 || s.Would == 0 {
		return nil
	}
	return &Gauge{Expect: 200, From: 194, To: 206, Read: 40, Off: true, Text: thin(s.Would) + " g, if so", TextX: 48}
}

// claimTrace keeps what the log answers now, with its head.
func (p *Pages) claimTrace(w http.ResponseWriter, r *http.Request) {
	who := door.WhoOf(r.Context())
	r.Body = http.MaxBytesReader(w, r.Body, 1<<20)
	c, err := p.command(r, who)
	if err == nil {
		c.Type = "trace-claim"
		err = p.Log.Look(r.Context(), p.At, func(v View) error {
			claim, err := v.Claim(r.PathValue("claim"))
			if err != nil {
				return err
			}
			t, err := traceOf(v, claim)
			if err != nil {
				return err
			}
			c.Data, err = json.Marshal(tracedBody(claim.Claim, t, v.Root))
			return err
		})
	}
	if err != nil {
		p.refuse(w, r, err)
		return
	}
	p.answer(w, r, p.ask(r.Context(), who, c))
}

func tracedBody(claim string, t audit.Trace, root string) map[string]any {
	marks := prep.Marks{}
	for _, u := range t.Units {
		marks = append(marks, u.Mark)
	}
	return map[string]any{"claim": claim, "candidates": prep.NewMarks(marks...), "size": t.Size, "query": t.Query, "log_head": t.Head, "log_root": root}
}
