package web

import (
	"errors"
	"net/http"
	"strings"

	"packwright/cmd/packwright/door"
	"packwright/cmd/packwright/entry"
	"packwright/events"
	"packwright/prep"
	"packwright/workflow"
)

// signing is the page for badge and PIN.
type signing struct {
	Sheet
	Badge string
	Text  string // why it did not work
	Next  string
	Once  bool // the PIN was given by somebody else: choose one
}

func (p *Pages) signSheet(r *http.Request, name string) Sheet {
	return Sheet{Title: name, Name: name, Who: door.WhoOf(r.Context()), Styles: []string{"sign.css"}}
}

func (p *Pages) signInPage(w http.ResponseWriter, r *http.Request) {
	p.show(w, r, http.StatusOK, "sign-in", signing{Sheet: p.signSheet(r, "Sign in")})
}

// signIn proves a badge in an office. At a bench the badge is scanned (bench.go).
func (p *Pages) signIn(w http.ResponseWriter, r *http.Request) {
	r.Body = http.MaxBytesReader(w, r.Body, 4<<10)
	badge, digits := strings.TrimSpace(r.PostFormValue("badge")), r.PostFormValue("pin")
	once, err := p.prove(w, r, badge, digits)
	if err != nil {
		page := signing{Sheet: p.signSheet(r, "Sign in"), Badge: badge}
		page.Text, page.Next = notIn(err)
		p.show(w, r, http.StatusUnauthorized, "sign-in", page)
		return
	}
	to := "/"
	if door.WhoOf(r.Context()).Bench {
		to = "/bench"
	}
	if once {
		to = "/pin"
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
}

// prove checks badge and PIN, signs the badge in on the floor, and begins the
// session of this browser.
func (p *Pages) prove(w http.ResponseWriter, r *http.Request, badge, digits string) (once bool, err error) {
	if once, err = p.Entry.Check(badge, digits); err != nil {
		return false, err
	}
	who := door.Who{Badge: badge, Station: workflow.Board}
	here := door.WhoOf(r.Context())
	if here.Bench {
		who.Station, who.Bench = here.Station, true
	} else if at := p.officeOf(r, badge); at != "" {
		who.Station = at
	}
	if a := p.Floor.Ask(r.Context(), workflow.Command{ID: formID(who), Type: "sign-in", Badge: badge}); a.Err() != nil {
		return false, a.Err()
	}
	token, err := p.Entry.Begin(badge, who.Station, who.Bench)
	if err != nil {
		return false, err
	}
	setCookie(w, r, sessionCookie, token, 0)
	return once, nil
}

// officeOf gives where a badge is signed in already, when no bench is there: an
// office is left and entered by any door.
func (p *Pages) officeOf(r *http.Request, badge string) (station string) {
	_ = p.Writer.View(r.Context(), func(f *workflow.Floor) {
		if b := f.Badges[badge]; b != nil {
			station = b.Station
		}
	})
	if station != "" && p.Entry.HasBench(station) {
		return ""
	}
	return station
}

// notIn says why somebody did not come in. It does not tell badges that there
// are from those that are not.
func notIn(err error) (text, next string) {
	var locked *entry.Locked
	var no *workflow.Refusal
	switch {
	case errors.As(err, &locked):
		return sentenceOf(err), "Wait, or the owner gives a new PIN."
	case errors.Is(err, entry.ErrWrong), errors.Is(err, entry.ErrNoPIN):
		return "Badge and PIN do not fit.", "Try again. The owner gives PINs: packwright pin BADGE."
	case errors.As(err, &no):
		return no.Text, no.Next
	}
	return sentenceOf(err), "Try again, or call the owner."
}

// signOut ends the session here and on the floor.
func (p *Pages) signOut(w http.ResponseWriter, r *http.Request) {
	who := door.WhoOf(r.Context())
	if who.Badge != "" {
		a := p.Floor.Ask(r.Context(), workflow.Command{ID: formID(who), Type: "sign-out", Badge: who.Badge})
		if a.Err() != nil {
			p.Logger.Debug().Err(a.Err()).Msg("the floor did not sign a badge out")
		}
	}
	if who.Key != "" {
		if err := p.Entry.End(who.Key); err != nil {
			p.Logger.Warn().Err(err).Msg("a session was not ended")
		}
	}
	setCookie(w, r, sessionCookie, "", -1)
	to := "/sign-in"
	if who.Bench {
		to = "/bench"
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
}

func (p *Pages) pinPage(w http.ResponseWriter, r *http.Request) {
	p.show(w, r, http.StatusOK, "pin", signing{Sheet: p.signSheet(r, "Choose a PIN"), Once: true})
}

// pin changes one's own PIN; the old one is asked first.
func (p *Pages) pin(w http.ResponseWriter, r *http.Request) {
	r.Body = http.MaxBytesReader(w, r.Body, 4<<10)
	who := door.WhoOf(r.Context())
	_, err := p.Entry.Check(who.Badge, r.PostFormValue("old"))
	if err == nil && r.PostFormValue("new") != r.PostFormValue("again") {
		err = prep.Input("the two new PINs differ", "type the same twice")
	}
	if err == nil {
		err = p.Entry.SetPIN(who.Badge, r.PostFormValue("new"), false)
	}
	if err == nil {
		http.Redirect(w, r, "/", http.StatusSeeOther)
		return
	}
	page := signing{Sheet: p.signSheet(r, "Choose a PIN")}
	var in *prep.InputError
	if page.Text, page.Next = notIn(err); errors.As(err, &in) {
		page.Text, page.Next = in.What, in.Do
	}
	p.show(w, r, http.StatusBadRequest, "pin", page)
}

func (p *Pages) joinPage(w http.ResponseWriter, r *http.Request) {
	p.show(w, r, http.StatusOK, "join", signing{Sheet: p.signSheet(r, "Make this a bench")})
}

// join makes this browser a bench, by the code that the board shows.
func (p *Pages) join(w http.ResponseWriter, r *http.Request) {
	r.Body = http.MaxBytesReader(w, r.Body, 4<<10)
	token, _, err := p.Entry.Join(strings.TrimSpace(r.PostFormValue("code")))
	if err != nil {
		page := signing{Sheet: p.signSheet(r, "Make this a bench")}
		var in *prep.InputError
		if page.Text, page.Next = notIn(err); errors.As(err, &in) {
			page.Text, page.Next = in.What, in.Do
		}
		p.show(w, r, http.StatusBadRequest, "join", page)
		return
	}
	setCookie(w, r, benchCookie, token, 10*365*24*3600)
	setCookie(w, r, sessionCookie, "", -1)
	http.Redirect(w, r, "/bench", http.StatusSeeOther)
}

// joinCode makes a code for a station, which joins the floor first when it is new.
func (p *Pages) joinCode(w http.ResponseWriter, r *http.Request) {
	who := door.WhoOf(r.Context())
	r.Body = http.MaxBytesReader(w, r.Body, 4<<10)
	station := strings.TrimSpace(r.PostFormValue("station"))
	there := false
	err := p.Writer.View(r.Context(), func(f *workflow.Floor) { there = f.Stations[station] != nil })
	if err == nil && station == workflow.Board {
		err = prep.Input(station+" is the office, not a bench", "name a bench, such as ST-4")
	}
	if err == nil && !there {
		c := workflow.Command{ID: formID(who), Type: "join", Badge: who.Badge}
		c.Data, err = jsonOf(map[string]any{"name": station})
		if a := p.ask(r.Context(), who, c); err == nil {
			err = a.Err()
		}
	}
	if err == nil {
		_, _, err = p.Entry.Code(station)
	}
	if err != nil {
		p.answer(w, r, door.Answer{Outcome: workflow.No, Error: trouble(err)})
		return
	}
	http.Redirect(w, r, "/", http.StatusSeeOther)
}

// tellCode makes a code for this machine's own commands. The station has joined
// the floor before: that is a supervisor's command.
func (p *Pages) tellCode(w http.ResponseWriter, r *http.Request) {
	station, there := r.PathValue("station"), false
	err := p.Writer.View(r.Context(), func(f *workflow.Floor) { there = f.Stations[station] != nil && station != workflow.Board })
	if err == nil && !there {
		err = prep.Input(station+" is no bench of this floor", "a supervisor joins it at the board first")
	}
	if err != nil {
		door.WriteTrouble(w, err)
		return
	}
	code, until, err := p.Entry.Code(station)
	if err != nil {
		door.WriteTrouble(w, err)
		return
	}
	door.WriteJSON(w, http.StatusOK, map[string]any{"station": station, "code": code, "until": events.At(until)})
}
