package web

import (
	"strings"
	"testing"

	"packwright/audit"
	"packwright/cmd/packwright/door"
	"packwright/events"
	"packwright/prep"
	"packwright/workflow"
)

// TestEmptySheets draws each desk page with nothing to show: before the first
// plan, the first lot, the first badge. The days of the other tests draw them full.
func TestEmptySheets(t *testing.T) {
	p := (&Pages{}).Open()
	var zero Sheet
	act := &Acts{}
	pages := map[string][]any{
		"sign-in":     {signing{}, signing{Text: "no"}},
		"pin":         {signing{}, signing{Text: "no"}},
		"join":        {signing{}, signing{Text: "no"}},
		"said":        {said{}, said{Word: "call", Text: "x", Next: "y", Then: "/"}},
		"wrong":       {wrongList{}, wrongList{Sheet: zero, Raise: &Form{}, Rows: []wrongRow{{}}}},
		"wrong-one":   {wrongPage{}, wrongPage{Cases: []Case{{}}, Minutes: []Minutes{{}}, Matter: &audit.MatterView{}, Ways: Ways{List: []Way{{}}}, Acts: act}, wrongPage{Cases: []Case{{Causes: []CauseRow{{}}, Curves: &Curves{}}}}},
		"plans":       {plansPage{}, plansPage{Plans: []planRow{{}}, Changes: []changeRow{{}}, Import: true}},
		"plan":        {planPage{}, planPage{Cartons: []planCarton{{}, {Lines: []planLine{{}}}}, Waiting: []changeRow{{}}, Revisions: []audit.PlanRevision{{}}}},
		"plan-ask":    {askPage{}, askPage{Lines: []askLine{{}}, Carton: "C-01"}},
		"plan-import": {importPage{}, importPage{Preview: &importPreview{}}, importPage{Preview: &importPreview{New: true, Releases: true, Rows: []importRow{{}}}}},
		"change":      {changePage{}, changePage{Mine: []changeLine{{}}, Theirs: []changeSide{{}}, Answer: &answerForms{}}, changePage{Done: "x", Word: "no"}},
		"claims":      {claimsPage{}, claimsPage{Rows: []claimRow{{}}, Open: &Form{}}},
		"claim":       {claimPage{}, claimPage{Forms: &claimForms{}, Statement: audit.Statement{Short: &audit.Shortage{}, Head: audit.StatementHead{Signed: &audit.HeadView{}}}, Shortage: &shortView{Gauge: &Gauge{}}, Same: []claimRow{{}}}},
		"statement":   {claimPage{}, claimPage{Shortage: &shortView{}}},
		"people":      {peoplePage{}, peoplePage{People: []personRow{{}}, Roles: []events.Role{events.Packer}, Fresh: &freshPIN{}}},
		"print":       {printPage{}, printPage{Run: &printRun{}, Carton: &printCarton{}}, printPage{Printer: true, Badges: []string{"x"}}, printPage{Printer: true, Run: &printRun{Labels: []printLabels{{LooseLabels: workflow.LooseLabels{N: 2, Numbered: true, Marks: prep.Marks{1, 2}, Wanted: 1}, Draws: true}, {LooseLabels: workflow.LooseLabels{N: 1}, Taken: 1}}, Torn: prep.Marks{3}}, Carton: &printCarton{Code: "0", Counted: true}}},
		"odd":         {oddPage{}, oddPage{Empty: true}},
	}
	for name, list := range pages {
		for i, page := range list {
			var b strings.Builder
			if err := p.sheets[name].ExecuteTemplate(&b, "layout", page); err != nil {
				t.Errorf("%s %d: %v", name, i, err)
			}
			if html := b.String(); !strings.HasSuffix(strings.TrimSpace(html), "</html>") || strings.Contains(html, "<no value>") || strings.Contains(html, "ZgotmplZ") {
				t.Errorf("%s %d is not whole: %s", name, i, html)
			}
		}
	}
}

// TestQuestionsInTheFoot: nobody is offered a page that would turn them away.
func TestQuestionsInTheFoot(t *testing.T) {
	routes := map[string]door.May{}
	for _, r := range (&Pages{}).Routes() {
		routes[strings.TrimSuffix(strings.TrimPrefix(r.Pattern, "GET "), "{$}")] = r.May
	}
	for _, q := range questions {
		if may, ok := routes[q.Path]; !ok || q.may&^may != 0 {
			t.Errorf("%s is offered to some who may not open it", q.Path)
		}
	}
}
