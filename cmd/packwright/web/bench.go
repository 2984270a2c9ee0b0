package web

import (
	"context"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"strings"

	"packwright/cmd/packwright/door"
	"packwright/prep"
	"packwright/workflow"
)

// The bench is one page for hands in gloves. The browser sends what its reader
// typed and is told the sentence of the end and the page as it stands then; what
// it shows is drawn here (benchstage.go), so that there is one place that knows
// what a bench may see. Its scripts only read keys, keep scans until they are
// answered, and sound.
//
//	GET  /bench          the page
//	GET  /bench/state    the same facts, to be asked now and then
//	POST /bench/scan     one scan: Typed → {said, state}
//	POST /bench/sign-in  badge and PIN → {said, state}
//	POST /bench/again    {command}, answered in an earlier era → {outcome}

// heard is what a bench is answered.
type heard struct {
	Said  workflow.Said `json:"said"`
	State benchState    `json:"state"`
}

// bench shows the page. Whose browser has not joined as a bench is told how.
func (p *Pages) bench(w http.ResponseWriter, r *http.Request) {
	who := door.WhoOf(r.Context())
	if !who.Bench {
		http.Redirect(w, r, "/join", http.StatusSeeOther)
		return
	}
	s, err := p.benchState(r.Context(), who)
	if err != nil {
		p.unreached(w, err)
		return
	}
	p.show(w, r, http.StatusOK, "bench", benchPage{Sheet: Sheet{Title: who.Station, Name: who.Station, Who: who, Styles: []string{"bench.css", "benchrun.css"}, Script: "bench.js"}, benchState: s})
}

// benchNow gives the state alone.
func (p *Pages) benchNow(w http.ResponseWriter, r *http.Request) {
	who := door.WhoOf(r.Context())
	s, err := p.benchState(r.Context(), who)
	if err != nil {
		p.unreached(w, err)
		return
	}
	door.WriteJSON(w, http.StatusOK, s)
}

// benchScan takes one scan.
func (p *Pages) benchScan(w http.ResponseWriter, r *http.Request) {
	who := door.WhoOf(r.Context())
	var in Typed
	if err := readJSON(w, r, &in); err != nil || in.Session == "" || in.N == 0 {
		door.WriteTrouble(w, prep.Input("the scan cannot be read", `send {"session":"…","n":1,"raw":"C-05"}`))
		return
	}
	said, err := p.heardAt(r.Context(), who, in)
	if err != nil {
		p.unreached(w, err)
		return
	}
	p.tellBench(w, r.Context(), who, said, p.Reader.Given(r.Context(), who.Station, in)...)
}

// heardAt hands a scan to the bench's machine. Where nobody is signed in, only a
// badge is heard, and asked for its PIN.
func (p *Pages) heardAt(ctx context.Context, who door.Who, in Typed) (workflow.Said, error) {
	if who.Badge != "" {
		in.Proves, in.Proved = true, who.Badge
		return p.Reader.Scan(ctx, who.Station, in)
	}
	said := workflow.Said{Outcome: workflow.No, Code: "E-SES-01", Text: "Nobody is signed in here.", Next: "Scan your badge."}
	err := p.Writer.View(ctx, func(f *workflow.Floor) {
		if s, err := workflow.ParseScan(in.Raw, f); err == nil && s.Class == workflow.ScanBadge {
			said = workflow.AskPIN(s.Code)
		}
	})
	return said, err
}

// benchSignIn proves a badge at a bench.
func (p *Pages) benchSignIn(w http.ResponseWriter, r *http.Request) {
	who := door.WhoOf(r.Context())
	var in struct{ Badge, PIN string }
	if err := readJSON(w, r, &in); err != nil || !who.Bench {
		door.WriteTrouble(w, prep.Input("badge and PIN cannot be read", "scan the badge, then give its PIN"))
		return
	}
	once, err := p.prove(w, r, strings.TrimSpace(in.Badge), in.PIN)
	if err != nil {
		text, next := notIn(err)
		p.tellBench(w, r.Context(), who, workflow.Said{Outcome: workflow.No, Text: text, Next: next})
		return
	}
	who = p.named(r.Context(), who, in.Badge, who.Station, "")
	said := workflow.Said{Outcome: workflow.Kept, Text: "Hello, " + in.Badge + ".", Next: "Scan a tote, a carton or a piece."}
	if once {
		said.Next = "Choose a PIN of your own: " + "/pin"
	}
	p.tellBench(w, r.Context(), who, said)
}

// tellBench answers with a sentence and the page as it stands after it. A badge
// that has just signed out has no session any more.
func (p *Pages) tellBench(w http.ResponseWriter, ctx context.Context, who door.Who, said workflow.Said, given ...workflow.Command) {
	if said.Text == workflow.SignedOut && who.Badge != "" {
		if err := p.Entry.End(who.Key); err != nil {
			p.Logger.Warn().Err(err).Msg("a session was not ended")
		}
		who.Badge = ""
	}
	s, err := p.benchState(ctx, who)
	if err != nil {
		p.unreached(w, err)
		return
	}
	s.Lasting.keep(given)
	door.WriteJSON(w, http.StatusOK, heard{said, s})
}

// unreached tells a bench that it was not answered: it will ask again.
func (p *Pages) unreached(w http.ResponseWriter, err error) {
	var in *prep.InputError
	if errors.As(err, &in) {
		door.WriteTrouble(w, err)
		return
	}
	p.Logger.Debug().Err(err).Msg("a bench was not answered")
	away := workflow.Away()
	door.WriteJSON(w, http.StatusServiceUnavailable, door.Answer{Refusal: away, Error: &door.Trouble{Kind: door.TroubleAway, Text: away.Text, Next: away.Next}})
}

func readJSON(w http.ResponseWriter, r *http.Request, v any) error {
	dec := json.NewDecoder(http.MaxBytesReader(w, r.Body, 4<<10))
	dec.DisallowUnknownFields()
	if err := dec.Decode(v); err != nil {
		return err
	}
	if _, err := dec.Token(); err != io.EOF {
		return errors.New("more than one object")
	}
	return nil
}

// benchRoutes are those of the bench. All may be asked while it is blind: what
// they answer is drawn for that.
func (p *Pages) benchRoutes() []door.Route {
	at := func(pattern, about string, may door.May, h http.HandlerFunc) door.Route {
		return door.Route{Pattern: pattern, About: about, May: may, Page: true, Blind: true, Handle: safe(h)}
	}
	onBench := func(h http.HandlerFunc) http.HandlerFunc {
		return func(w http.ResponseWriter, r *http.Request) {
			if !door.WhoOf(r.Context()).Bench {
				door.WriteTrouble(w, prep.Input("this browser is no bench", "join it with the code on the board"))
				return
			}
			h(w, r)
		}
	}
	return []door.Route{
		at("GET /bench", "what is in hand, one thing at a time", door.Bench|door.Hands, p.bench),
		at("GET /bench/state", "what is in hand, for the page itself", door.Bench|door.Hands, onBench(p.benchNow)),
		at("POST /bench/scan", "what a reader typed, as {session, n, raw}", door.Bench|door.Hands, onBench(p.benchScan)),
		at("POST /bench/sign-in", "badge and PIN, as {badge, pin}", door.Bench|door.Hands, onBench(p.benchSignIn)),
		at("POST /bench/again", "a command of this bench that an earlier era answered, as {command}", door.Bench|door.Hands, onBench(p.benchAgain)),
	}
}
