package web

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"path"
	"slices"
	"strings"

	"packwright/audit"
	"packwright/cmd/packwright/sheet"
	"packwright/events"
	"packwright/prep"
)

// importPage takes a file and shows what it would change, before anything is kept.
type importPage struct {
	Sheet
	Plan, Owner, Policy, File string
	Text, Next                string // what is missing on the form
	Troubles                  []prep.InputError
	Warnings                  []prep.InputError
	Preview                   *importPreview
}

// importPreview is what a file holds beside the plan as it stands.
type importPreview struct {
	New      bool // a plan that is not there yet: it is released; else a change is proposed
	Rev      int
	Rows     []importRow
	Hidden   int // lines that stay as they are
	Cartons  int
	Pieces   int
	Delta    int
	Form     Form
	Lines    string // as JSON, for the form
	Changes  string
	Nothing  bool
	Unknown  []string // items that the catalogue lacks
	Frozen   []string // cartons that are sealed: their lines cannot change
	Releases bool     // this badge may release a plan
}

// importRow is one line that differs.
type importRow struct {
	Carton, Item, Name, Owner string
	Was, Is                   int
	Draw                      Strokes
}

// planImportPage asks for the file.
func (p *Pages) planImportPage(w http.ResponseWriter, r *http.Request) {
	page := importPage{Plan: r.URL.Query().Get("plan")}
	err := p.Log.Look(r.Context(), p.At, func(v View) error {
		page.begin(p.sheet(r.Context(), v, "Bring a plan in"))
		return nil
	})
	p.showOr(w, r, err, "plan-import", &page)
}

func (x *importPage) begin(s Sheet) {
	x.Sheet = s
	x.Nav, x.Styles = "/plans", []string{"desk.css", "plans.css"}
}

// planPreview reads the file and shows what would change.
func (p *Pages) planPreview(w http.ResponseWriter, r *http.Request) {
	page := importPage{}
	r.Body = http.MaxBytesReader(w, r.Body, sheet.MaxBytes+1<<20)
	src, err := page.read(r)
	status := http.StatusOK
	look := p.Log.Look(r.Context(), p.At, func(v View) error {
		page.begin(p.sheet(r.Context(), v, "Bring a plan in"))
		if err == nil {
			err = page.preview(v, src)
		}
		return nil
	})
	if look != nil {
		p.showOr(w, r, look, "plan-import", &page)
		return
	}
	if err != nil {
		status = http.StatusBadRequest
		page.Troubles = troublesOf(err)
	}
	p.show(w, r, status, "plan-import", &page)
}

// read takes the form's fields and the file's bytes. Errors: *prep.InputError.
func (x *importPage) read(r *http.Request) ([]byte, error) {
	f, head, err := r.FormFile("file")
	if err != nil {
		return nil, prep.Input("there is no file in the form", "choose a CSV or XLSX file of at most 16 MiB")
	}
	defer f.Close()
	x.File = path.Base(strings.ReplaceAll(head.Filename, `\`, "/"))
	for name, into := range map[string]*string{"plan": &x.Plan, "owner": &x.Owner, "policy": &x.Policy} {
		*into = strings.TrimSpace(r.PostFormValue(name))
	}
	if x.Plan == "" {
		return nil, prep.Input("the plan has no number", "name it, such as P-02")
	}
	return io.ReadAll(f)
}

// preview compares the file with the plan as it stands.
func (x *importPage) preview(v View, src []byte) error {
	table, err := sheet.Read(x.File, src)
	if err != nil {
		return err
	}
	lines, err := sheet.PlanLines(table, x.Owner)
	for _, w := range table.Warnings {
		x.Warnings = append(x.Warnings, *w)
	}
	if err != nil {
		return err
	}
	pre := &importPreview{Releases: x.Who.Is(events.Owner)}
	x.Preview = pre
	var was []events.PlanLine
	plan, err := v.PlanAt(x.Plan, 0)
	var no *audit.NoSuch
	switch {
	case errors.As(err, &no):
		pre.New = true
	case err != nil:
		return err
	case plan.Closed:
		return prep.Input("plan "+x.Plan+" is over", "name another")
	default:
		was, pre.Rev = plan.Lines, plan.Rev
	}
	pre.compare(was, lines, namesOf(v))
	pre.check(v, lines)
	return pre.forms(x, lines)
}

// compare lists the lines that differ.
func (i *importPreview) compare(was, is []events.PlanLine, n names) {
	var list []planCarton
	list, i.Delta, i.Pieces = besides(was, is)
	for _, c := range list {
		for _, l := range c.Lines {
			if l.Was == l.Is {
				i.Hidden++
				continue
			}
			i.Rows = append(i.Rows, importRow{c.Carton, l.Item, n.of(l.Item), l.Owner, l.Was, l.Is,
				strokesOf([]Pieces{{There: min(l.Was, l.Is), Missing: max(l.Was-l.Is, 0), Extra: max(l.Is-l.Was, 0)}})})
		}
		if slices.ContainsFunc(c.Lines, func(l planLine) bool { return l.Is > 0 }) {
			i.Cartons++
		}
	}
	i.Nothing = len(i.Rows) == 0
}

// check names what the floor would refuse.
func (i *importPreview) check(v View, lines []events.PlanLine) {
	known := namesOf(v)
	for _, l := range lines {
		if _, ok := known[l.Item]; !ok && !slices.Contains(i.Unknown, l.Item) {
			i.Unknown = append(i.Unknown, l.Item)
		}
	}
	for _, r := range i.Rows {
		c, ok := v.Contents(r.Carton)
		if ok && (c.State == audit.Sealed || c.State == audit.Dispatched) && !slices.Contains(i.Frozen, r.Carton) {
			i.Frozen = append(i.Frozen, r.Carton)
		}
	}
}

// forms make the command of what was shown: what is confirmed is what was seen.
func (i *importPreview) forms(x *importPage, lines []events.PlanLine) error {
	kind := "propose"
	if i.New {
		kind = "release"
	}
	i.Form = form(x.Who, kind, "/plans/"+x.Plan)
	b, err := json.Marshal(lines)
	if err != nil {
		return err
	}
	i.Lines = string(b)
	var changes []events.PlanChange
	for _, r := range i.Rows {
		changes = append(changes, events.PlanChange{Carton: r.Carton, Item: r.Item, Owner: r.Owner, Delta: r.Is - r.Was})
	}
	if b, err = json.Marshal(changes); err != nil {
		return err
	}
	i.Changes = string(b)
	if len(i.Lines)+len(i.Changes) > 900<<10 {
		return prep.Input(fmt.Sprintf("the plan has %d lines, too many for a page", len(lines)), "bring it in with packwright plan import")
	}
	return nil
}

// troublesOf lists what is wrong with a file, place by place.
func troublesOf(err error) []prep.InputError {
	var out []prep.InputError
	var walk func(error)
	walk = func(e error) {
		if many, ok := e.(interface{ Unwrap() []error }); ok {
			for _, x := range many.Unwrap() {
				walk(x)
			}
			return
		}
		var in *prep.InputError
		if errors.As(e, &in) {
			out = append(out, *in)
			return
		}
		out = append(out, prep.InputError{What: e.Error(), Do: "try it again"})
	}
	walk(err)
	return out
}
