package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"packwright/audit"
	"packwright/cmd/packwright/door"
	"packwright/events"
	"packwright/prep"
)

// askPage asks for a change of a plan, line by line.
type askPage struct {
	Sheet
	Plan     string
	Carton   string // only this one; empty: all
	Mismatch string
	ID       string
	Lines    []askLine
	Names    names
}

type askLine struct {
	events.PlanLine
	N int // of its field
}

// planAsk offers the lines that this badge may see.
func (p *Pages) planAsk(w http.ResponseWriter, r *http.Request) {
	page := askPage{Carton: r.URL.Query().Get("carton"), Mismatch: r.URL.Query().Get("mismatch")}
	err := p.Log.Look(r.Context(), p.At, func(v View) error {
		plan, err := v.PlanAt(r.PathValue("plan"), 0)
		if err != nil {
			return err
		}
		page.Sheet = p.sheet(r.Context(), v, "Change plan "+plan.Plan+"?")
		page.Nav, page.Styles = "/plans", []string{"desk.css", "plans.css"}
		page.Plan, page.ID, page.Names = plan.Plan, formID(page.Who), namesOf(v)
		for i, l := range plan.Lines {
			if page.Who.Owns(l.Owner) && (page.Carton == "" || page.Carton == l.Carton) {
				page.Lines = append(page.Lines, askLine{l, i})
			}
		}
		if len(page.Lines) == 0 {
			return &audit.NoSuch{Kind: "line of yours in plan", Name: plan.Plan}
		}
		return nil
	})
	p.showOr(w, r, err, "plan-ask", &page)
}

// planAsked gives the change to the floor. A line is named by carton, item and
// owner, so that a plan changed meanwhile is not misread.
func (p *Pages) planAsked(w http.ResponseWriter, r *http.Request) {
	who := door.WhoOf(r.Context())
	r.Body = http.MaxBytesReader(w, r.Body, 1<<20)
	c, err := p.command(r, who)
	if err == nil {
		c.Type = "propose"
		c.Data, err = changesIn(r)
	}
	if err != nil {
		p.refuse(w, r, err)
		return
	}
	p.answer(w, r, p.ask(r.Context(), who, c))
}

// changesIn reads the fields of planAsk's form. Errors: *prep.InputError.
func changesIn(r *http.Request) (json.RawMessage, error) {
	var list []events.PlanChange
	for i := 0; ; i++ {
		n := strconv.Itoa(i)
		line, by := r.PostForm.Get("line "+n), strings.TrimSpace(r.PostForm.Get("delta "+n))
		if i > 20_000 || line == "" && i > lastLine(r) {
			break
		}
		if line == "" || by == "" || by == "0" {
			continue
		}
		delta, err := strconv.Atoi(strings.Replace(by, "−", "-", 1))
		part := strings.Split(line, "|")
		if err != nil || len(part) != 3 {
			return nil, prep.Input(fmt.Sprintf("%q for %s is no change", by, line), "write how many more or fewer, such as -1")
		}
		list = append(list, events.PlanChange{Carton: part[0], Item: part[1], Owner: part[2], Delta: delta})
	}
	reason := strings.TrimSpace(r.PostForm.Get("reason"))
	if len(list) == 0 || reason == "" {
		return nil, prep.Input("the change or its reason is missing", "say by how many on a line, and why")
	}
	return json.Marshal(map[string]any{"plan": r.PathValue("plan"), "changes": list, "reason": reason})
}

// lastLine is the highest number of a line in the form.
func lastLine(r *http.Request) (last int) {
	for name := range r.PostForm {
		if n, err := strconv.Atoi(strings.TrimPrefix(name, "line ")); err == nil {
			last = max(last, min(n, 20_000))
		}
	}
	return last
}
