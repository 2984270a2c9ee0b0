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
	audit.ClaimView
	Said     string
	DueSays  string
	Sure     string // how many pieces the answer names, in words
	SureWhy  string
	Facts    []claimFact
	Unknown  []string
	Short    *shortView
	Siblings string // path of those made beside it
	Same     []claimRow
	Forms    *claimForms
	Findings []string
	Letter   string          // what would be sent
	Signed   *audit.HeadView // the newest signed head of the log
	Now      string          // root over all of it
	Print    bool
}

// claimFact is one thing the log knows.
type claimFact struct{ Term, Says string }

// shortView is the evidence against a shortage.
type shortView struct {
	audit.Shortage
	Gauge *Gauge
}

type claimForms struct{ Trace, Decide, Close Form }

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

// claim shows one claim; its statement is the same page for paper.
func (p *Pages) claim(w http.ResponseWriter, r *http.Request)     { p.claimAs(w, r, "claim") }
func (p *Pages) statement(w http.ResponseWriter, r *http.Request) { p.claimAs(w, r, "statement") }

func (p *Pages) claimAs(w http.ResponseWriter, r *http.Request, name string) {
	page := claimPage{Findings: claimFindings, Print: name == "statement"}
	err := p.Log.Look(r.Context(), p.at(r), func(v View) error {
		c, err := v.Claim(r.PathValue("claim"))
		if err != nil {
			return err
		}
		page.Sheet = p.sheet(r.Context(), v, fmt.Sprintf("%s · %s, %s", c.Claim, c.Kind, claimSaid(c)))
		page.Nav, page.Styles = "/claimed", []string{"desk.css", "claims.css"}
		page.ClaimView, page.Said, page.Now = c, claimSaid(c), v.Root
		page.fill(v)
		if page.Who.As()&(door.Supervisor|door.Owner) != 0 && p.at(r) == p.At {
			back := "/claimed/" + c.Claim
			page.Forms = &claimForms{form(page.Who, "trace-claim", back), form(page.Who, "decide-claim", back), form(page.Who, "close-claim", back)}
		}
		return nil
	})
	p.showOr(w, r, err, name, &page)
}

// fill asks the log about what the claim names.
func (x *claimPage) fill(v View) {
	x.Where = fmt.Sprintf("%s, opened %s", x.State, dayOf(x.Opened))
	row := claimRowOf(v, x.ClaimView)
	switch {
	case row.Waits && row.Days < 0:
		x.DueSays = fmt.Sprintf("The answer was due %d days ago, %s.", -row.Days, dayOf(x.Due))
	case row.Waits:
		x.DueSays = fmt.Sprintf("The answer is due in %d days, %s.", row.Days, dayOf(x.Due))
	}
	t, err := traceOf(v, x.ClaimView)
	if err != nil {
		x.Sure, x.SureWhy = "Nothing here matches", sentenceOf(err)
	} else {
		x.Sure, x.SureWhy = sureOf(t)
		x.Facts, x.Unknown = factsOf(v, t)
	}
	if x.Given.Mark > 0 && err == nil && len(t.Units) == 1 {
		x.Siblings = "/story/" + t.Units[0].Mark.String()
	}
	if x.Kind == "short" && x.Given.Carton != "" && x.Given.Item != "" {
		if s, err := v.ShortEvidence(x.Given.Carton, x.Given.Item, x.Qty); err == nil {
			x.Short = &shortView{s, shortGauge(s)}
			x.Unknown = append(x.Unknown, s.Unknown...)
		}
	}
	for _, c := range v.Claims() {
		if c.Claim != x.Claim && sameGoods(c, x.ClaimView) {
			x.Same = append(x.Same, claimRowOf(v, c))
		}
	}
	if heads := v.Heads(); len(heads) > 0 {
		x.Signed = &heads[len(heads)-1]
	}
	x.Letter = x.letter()
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

// sureOf says how many pieces an answer names, before any story.
func sureOf(t audit.Trace) (sure, why string) {
	switch t.Size {
	case 0:
		return "Nothing here matches", sentence(t.Why)
	case 1:
		return "One piece, exactly", sentence(t.Why)
	}
	return fmt.Sprintf("One of %d; the log cannot say which", t.Size), sentence(t.Why)
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

// letter is what would be sent, from the same facts.
func (x *claimPage) letter() string {
	b := &strings.Builder{}
	fmt.Fprintf(b, "%s: %s, %s.\n%s. %s\n", x.Claim, x.Kind, x.Said, x.Sure, x.SureWhy)
	for _, f := range x.Facts {
		fmt.Fprintf(b, "%s: %s\n", f.Term, f.Says)
	}
	if s := x.Short; s != nil {
		fmt.Fprintf(b, "Missing %d %s from %s? Evidence %s: %s.\n", s.N, s.Item, s.Carton, s.Strength, s.Verdict)
		for _, y := range s.Strands {
			fmt.Fprintf(b, "%s, %s: %s\n", y.On, y.Strength, y.Says)
		}
		fmt.Fprintf(b, "What would defeat this: %s.\n", s.Defeat)
	}
	for _, u := range x.Unknown {
		fmt.Fprintf(b, "Not known: %s.\n", u)
	}
	return b.String()
}
