package web

import (
	"context"
	"crypto/rand"
	"encoding/json"
	"errors"
	"net/http"
	"slices"
	"strings"

	"packwright/cmd/packwright/door"
	"packwright/cmd/packwright/entry"
	"packwright/events"
	"packwright/prep"
	"packwright/workflow"
)

// Form is a command that a page offers. Its id is made when the page is drawn:
// pressed twice, sent again after a lost answer, it is done once.
//
// A field's name says what it is: "s.reason" a text, "n.q" a number, "m.money" an
// amount in minor units, "t.due" a moment, "l.actions" texts, one a line, "x.order"
// a text of which only the SHA-256 is kept, "j.lines" JSON, "b.at_once" yes when it
// is there; the dot and what stands before it are left off. Further dots lead
// inside: "s.given.carton", and "s.roles.0" is one of several. An empty field is not
// there. "mismatch" names the matter it is done for, "pin" proves the hand where
// that is asked again, "then" is the page that follows.
type Form struct {
	ID   string
	Type string
	Then string
}

// form begins a form for whoever asks.
func form(who door.Who, kind, then string) Form {
	return Form{formID(who), kind, then}
}

func formID(who door.Who) string {
	station := who.Station
	if station == "" {
		station = workflow.Board
	}
	return station + "/form-" + strings.ToLower(rand.Text()[:12]) + "/1"
}

// pinAgain are the commands for which a PIN is asked anew.
var pinAgain = []string{"override", "write-off", "reopen"}

// PINAgain says whether a form of this kind asks for the PIN.
func (f Form) PINAgain() bool { return slices.Contains(pinAgain, f.Type) }

// said is the page that answers a form.
type said struct {
	Sheet
	Outcome workflow.Outcome
	Word    string
	Text    string
	Next    string
	Then    string
}

// act gives a form's command to the floor and shows the answer.
func (p *Pages) act(w http.ResponseWriter, r *http.Request) {
	who := door.WhoOf(r.Context())
	r.Body = http.MaxBytesReader(w, r.Body, 1<<20)
	c, err := p.command(r, who)
	if err == nil && slices.Contains(pinAgain, c.Type) {
		_, err = p.Entry.Check(who.Badge, r.PostFormValue("pin"))
	}
	if err != nil {
		p.refuse(w, r, err)
		return
	}
	p.answer(w, r, p.ask(r.Context(), who, c))
}

// ask gives a command in somebody's name. An office whose badge has idled out is
// signed in again: the session's PIN stands for the shift.
func (p *Pages) ask(ctx context.Context, who door.Who, c workflow.Command) door.Answer {
	a := p.Floor.Ask(ctx, c)
	if a.Refusal == nil || a.Refusal.Code != "E-SES-01" || who.Bench || who.Badge == "" {
		return a
	}
	if in := p.Floor.Ask(ctx, workflow.Command{ID: formID(who), Type: "sign-in", Badge: who.Badge}); in.Err() != nil {
		return in
	}
	return p.Floor.Ask(ctx, c)
}

// command reads a form. Errors: *prep.InputError.
func (p *Pages) command(r *http.Request, who door.Who) (workflow.Command, error) {
	if err := r.ParseForm(); err != nil {
		return workflow.Command{}, prep.Input("the form cannot be read: "+err.Error(), "load the page again")
	}
	c := workflow.Command{ID: r.PostFormValue("id"), Type: r.PostFormValue("type"), Badge: who.Badge, Matter: r.PostFormValue("mismatch"), Basis: events.Keyed}
	if r.PostFormValue("basis") == string(events.Import) {
		c.Basis = events.Import
	}
	id, err := workflow.ParseCommandID(c.ID)
	if err != nil {
		return c, err
	}
	if want, _ := workflow.ParseCommandID(formID(who)); id.Station != want.Station {
		return c, prep.Input("this form was drawn for "+id.Station, "load the page again")
	}
	c.Data, err = fieldsOf(r.PostForm)
	return c, err
}

// trouble puts an error that came before the floor was asked into an answer.
func trouble(err error) *door.Trouble {
	a := door.Troubled("", err)
	var locked *entry.Locked
	switch {
	case errors.Is(err, entry.ErrWrong), errors.Is(err, entry.ErrNoPIN), errors.As(err, &locked):
		a.Error.Kind, a.Error.Text, a.Error.Next = door.TroubleInput, sentenceOf(err), "Try again, or ask the supervisor."
	case a.Error.Kind == door.TroubleHub:
		a.Error.Text, a.Error.Next = sentenceOf(err), "Try again, or call the owner."
	}
	return a.Error
}

func sentenceOf(err error) string { return sentence(err.Error()) }

// sentence makes a sentence of a text that may be part of one.
func sentence(s string) string {
	if s == "" || strings.HasSuffix(s, ".") || strings.HasSuffix(s, "?") {
		return upper(s)
	}
	return upper(s) + "."
}

// answer shows what the floor said, and the way on.
func (p *Pages) answer(w http.ResponseWriter, r *http.Request, a door.Answer) {
	page := said{Sheet: Sheet{Title: "packwright", Name: "packwright", Who: door.WhoOf(r.Context()), Styles: []string{"said.css"}}, Outcome: a.Outcome, Then: local(r.PostFormValue("then"))}
	switch {
	case a.Refusal != nil:
		page.Text, page.Next = a.Refusal.Text, a.Refusal.Next
	case a.Error != nil:
		page.Text, page.Next = a.Error.Text, a.Error.Next
	case a.Outcome == workflow.Already:
		page.Text = "It was done before. Nothing changed."
	default:
		page.Text = "It stands in the log."
	}
	if page.Outcome == "" {
		page.Outcome = workflow.No
	}
	page.Text, page.Next, page.Word = sentence(page.Text), sentence(page.Next), string(page.Outcome)
	if reach := p.Log.Reach(r.Context(), a.Frame); reach != nil {
		p.Logger.Debug().Err(reach).Msg("the pages are behind the log")
	}
	p.show(w, r, a.Status(), "said", page)
}

// local holds a path to this hub's own pages.
func local(path string) string {
	if !strings.HasPrefix(path, "/") || strings.HasPrefix(path, "//") || strings.ContainsAny(path, "\\\r\n") {
		return "/"
	}
	return path
}

func jsonOf(v any) (json.RawMessage, error) { return json.Marshal(v) }
