// Package web is the hub's pages: benches for hands in gloves, the board, the
// supervisor's and the claims desk.
//
// A page is a question with a drawing. It asks the auditor's fold the same
// functions that the commands ask, fills one template, and changes nothing; what
// people do goes as commands through the same door as everything else (act.go for
// offices, bench.go for benches). So a page can be wrong only in what it shows.
//
//	web.go      the table of pages: who may open what
//	who.go      who asks: cookies of sessions and benches, roles from the log
//	sheet.go    what all pages have in common; rendering
//	act.go      commands of an office
//	sign.go     signing in and out, PINs, joining a bench
//	live.go     fragments sent again when the log has moved
//	one file a page, with a template and a style of the same name
//
// The look: a stroke is one piece; the flaps say what state a carton is in; the
// rule under the head is the day. Everything comes from this binary, and no style
// or script stands in a page, so the content policy is strict (safe.go).
package web

import (
	"context"
	"embed"
	"html/template"
	"net/http"
	"sync"
	"time"

	"github.com/rs/zerolog"

	"packwright/audit"
	"packwright/cmd/packwright/door"
	"packwright/cmd/packwright/entry"
	"packwright/cmd/packwright/printing"
	"packwright/events"
	"packwright/workflow"
)

//go:embed templates static
var files embed.FS

// Log is the auditor's reading, as pages ask it.
type Log interface {
	// Look gives fn the log as it stands or, with at, as it was known then. fn
	// must not keep the view.
	Look(ctx context.Context, at string, fn func(View) error) error
	// Moved gives a channel that is closed when the log has moved on.
	Moved() <-chan struct{}
	// Reach waits until the reading holds a frame.
	Reach(ctx context.Context, frame uint64) error
	// Err says why the two readings of the log differ; nil while they agree.
	Err() error
}

// View is the log as it was read up to a moment.
type View struct {
	*audit.Fold
	Now  events.Time // the moment, to measure waiting from
	Root string      // over all that was read; empty for a moment of the past
}

// Writer is the decider's floor, to look at.
type Writer interface {
	View(ctx context.Context, fn func(*workflow.Floor)) error
}

// Reader is the reading machine of each bench.
type Reader interface {
	// Scan takes what a reader typed and says the sentence of the end.
	Scan(ctx context.Context, station string, in Typed) (workflow.Said, error)
	// Given lists the commands that the floor kept of a scan, if it was the last.
	Given(ctx context.Context, station string, in Typed) []workflow.Command
	// Look shows the machine as it stands, with the last sentence it said. show
	// must keep neither the floor nor the machine.
	Look(ctx context.Context, station string, show func(*workflow.Floor, *workflow.Bench, workflow.Said)) error
}

// Typed is one scan as a bench sends it. The same number in the same session is
// the same scan, sent again because its answer was lost.
type Typed struct {
	Session string      `json:"session"`
	N       uint64      `json:"n"`
	Raw     string      `json:"raw"`
	At      events.Time `json:"at,omitzero"`       // by the bench's clock, of a scan done while away
	Ago     int64       `json:"ago,omitempty"`     // how many ms ago, by the bench's clock: what its error does not touch
	Offline bool        `json:"offline,omitempty"` // done while away
	Waiting int         `json:"waiting,omitempty"` // how many still wait behind it

	Proves bool   `json:"-"` // a badge's scan alone signs nobody in, but that of Proved
	Proved string `json:"-"`
}

// Pages are the pages of one hub.
type Pages struct {
	Floor  door.Floor // what takes commands
	Log    Log
	Writer Writer
	Reader Reader
	Entry  *entry.Book
	Frames Frames // the log, for what reads it again
	Now    func() time.Time
	Safe   func() time.Time // when the last verified backup began; zero or nil: there is none
	Logger zerolog.Logger
	At     string // the moment that pages show when none is asked for; empty: now

	Printer *printing.Printer // the hub's own, by the system's lp; nil: it has none

	sheets map[string]*template.Template
	once   sync.Once
	rooms  *hall // of those who follow topics; by hall()
	films  films // days that somebody looks at again
	taken  taken // marks that went to paper
}

// Open reads the templates. It panics when one does not parse: they are part of
// the program.
func (p *Pages) Open() *Pages {
	p.sheets = readSheets()
	return p
}

// Routes is the table of pages, and of who may open them.
func (p *Pages) Routes() []door.Route {
	page := func(pattern, about string, may door.May, h http.HandlerFunc) door.Route {
		return door.Route{Pattern: pattern, About: about, May: may, Page: true, Handle: safe(h)}
	}
	blind := func(r door.Route) door.Route { r.Blind = true; return r }
	return append(append(p.benchRoutes(), p.printRoutes(page)...), []door.Route{
		blind(page("GET /static/{file}", "styles, scripts, the sign of the house", door.Anyone, p.static)),
		blind(page("GET /sign-in", "badge and PIN", door.Anyone, p.signInPage)),
		blind(page("POST /sign-in", "badge and PIN", door.Anyone, p.signIn)),
		blind(page("POST /sign-out", "go", door.SignedIn, p.signOut)),
		blind(page("GET /pin", "choose a PIN", door.SignedIn&^door.House, p.pinPage)),
		blind(page("POST /pin", "choose a PIN", door.SignedIn&^door.House, p.pin)),
		blind(page("GET /join", "make this browser a bench", door.Anyone, p.joinPage)),
		blind(page("POST /join", "make this browser a bench", door.Anyone, p.join)),
		page("POST /join/code", "a code that joins a bench", door.Supervisor|door.Owner, p.joinCode),
		{Pattern: "POST /join/code/{station}", About: "a code that joins a browser as this station's bench, as {station, code, until}", May: door.House, Handle: safe(p.tellCode)},
		page("POST /act", "a command of an office", door.Office|door.Lead, p.act),
		page("GET /{$}", "the board: go or not, every carton, who is where; whose board it is not is shown the way", door.SignedIn|door.Bench, p.board),
		page("GET /day", "how the day went: the board at any moment of it; ?day= ?at=", door.Readers, p.dayAgain),
		page("GET /day/board", "what the slider of the day shows, as parts; ?day= ?step=", door.Readers, p.dayBoard),
		page("GET /day/steps", "where the slider of the day stops; ?day=", door.Readers, p.daySteps),
		page("GET /story", "what happened to whatever a code names; a client is told of its own goods alone; ?code= ?item=", door.Readers|door.Client, p.story),
		page("GET /live", "fragments of pages, sent again as the log moves; ?topic=", door.Readers|door.Client, p.live),
		page("GET /wrong", "what does not match and is open", door.Readers, p.wrong),
		page("GET /plans", "the plans, and the changes asked for", door.Readers|door.Client, p.plans),
		page("GET /plans/import", "a file for a plan", door.Supervisor|door.Owner, p.planImportPage),
		page("POST /plans/import", "what a file would change", door.Supervisor|door.Owner, p.planPreview),
		page("GET /plans/{plan}", "two revisions of a plan side by side", door.Readers|door.Client, p.plan),
		page("GET /plans/{plan}/ask", "ask for a change of a plan", door.Supervisor|door.Owner|door.Client, p.planAsk),
		page("POST /plans/{plan}/ask", "ask for a change of a plan", door.Supervisor|door.Owner|door.Client, p.planAsked),
		page("GET /change/{proposal}", "one change of a plan, and the answers", door.Readers|door.Client, p.change),
		page("GET /claimed", "what the other side says", door.Readers, p.claims),
		page("GET /claimed/{claim}", "one claim, and what the log answers", door.Readers, p.claim),
		page("GET /claimed/{claim}/statement", "the same for paper", door.Readers, p.statement),
		page("POST /claimed/{claim}/trace", "keep the answer with the head of the log", door.Supervisor|door.Owner, p.claimTrace),
		page("GET /odd", "all that was let pass, told late, refused or out of order", door.Readers, p.odd),
		page("GET /people", "badges, roles, PINs", door.Supervisor|door.Owner, p.people),
		page("POST /people/pin", "give a badge a PIN that it must change", door.Supervisor|door.Owner, p.givePIN),
		page("GET /wrong/{of}", "planned, scanned, counted, weighed; what explains it; the ways out", door.Readers, p.wrongOne),
	}...)
}
