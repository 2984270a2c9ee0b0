package door

import (
	"net/http"
	"slices"
	"strings"

	"packwright/events"
)

// Who is somebody at the HTTP door, as the door knows them.
type Who struct {
	Badge   string
	Roles   []events.Role
	OwnerOf string // of a client: whose goods
	Station string // the bench this browser has joined, or where an office's badge works
	Bench   bool   // the browser is a bench's
	House   bool   // holds the hub's own key: the machine it runs on
	Key     string // names the session; empty when signed out
}

// May is a set of those who may use a route. The zero value is nobody.
type May uint16

// Those who may. A browser that has joined as a bench is one of them before
// anybody signs in there.
const (
	Stranger May = 1 << iota // signed out, no bench
	Bench                    // signed out, at a bench
	Packer
	Lead
	Supervisor
	Owner
	Client
	Auditor
	House
)

// Usual sets.
const (
	Anyone   = Stranger | Bench | SignedIn
	SignedIn = Packer | Lead | Supervisor | Owner | Client | Auditor | House
	Hands    = Packer | Lead | Supervisor | Owner   // who works at benches
	Desk     = Supervisor | Owner | House           // who decides
	Readers  = Supervisor | Owner | Auditor | House // who reads everything
	Office   = Supervisor | Owner | Client | House  // who answers for goods
)

// mayOf is the one table from a badge's role to the door's.
var mayOf = map[events.Role]May{
	events.Packer: Packer, events.Lead: Lead, events.Supervisor: Supervisor,
	events.Owner: Owner, events.Client: Client, events.Auditor: Auditor,
}

// As gives what somebody is at the door.
func (w Who) As() May {
	switch {
	case w.House:
		return House
	case w.Badge == "" && w.Bench:
		return Bench
	case w.Badge == "":
		return Stranger
	}
	var m May
	for _, r := range w.Roles {
		m |= mayOf[r]
	}
	return m
}

// Is says whether somebody holds a role.
func (w Who) Is(r events.Role) bool { return slices.Contains(w.Roles, r) }

// Owns says whether somebody may be shown an owner's goods: a client sees its own
// alone.
func (w Who) Owns(owner string) bool {
	return w.House || w.As()&^Client != 0 || w.OwnerOf == owner
}

// guard lets through who may. A browser that is signed out is shown the way; a
// bench that counts is told nothing but what a counter may know.
func (w *Web) guard(r Route) http.Handler {
	if w.Who == nil {
		return http.HandlerFunc(func(rw http.ResponseWriter, q *http.Request) {
			r.Handle(rw, q.WithContext(WithWho(q.Context(), Who{House: true})))
		})
	}
	return http.HandlerFunc(func(rw http.ResponseWriter, q *http.Request) {
		who := w.Who(q)
		if who.As()&r.May == 0 {
			refuseWho(rw, q, who)
			return
		}
		if who.Bench && !r.Blind && w.Counting != nil && w.Counting(q.Context(), who.Station) {
			refuse(rw, http.StatusLocked, "This bench counts now.", "Look there, or from an office, when the count is in.")
			return
		}
		r.Handle(rw, q.WithContext(WithWho(q.Context(), who)))
	})
}

func refuseWho(rw http.ResponseWriter, q *http.Request, who Who) {
	signedOut := who.As()&(Stranger|Bench) != 0
	switch {
	case signedOut && q.Method == http.MethodGet && strings.Contains(q.Header.Get("Accept"), "text/html"):
		to := "/sign-in"
		if who.Bench {
			to = "/bench"
		}
		http.Redirect(rw, q, to, http.StatusSeeOther)
	case signedOut:
		rw.Header().Set("WWW-Authenticate", `Basic realm="packwright"`)
		refuse(rw, http.StatusUnauthorized, "Nobody is signed in.", "Sign in, or ask with the address in hub.url.")
	default:
		refuse(rw, http.StatusForbidden, "Not for this badge.", "Somebody who may has to ask.")
	}
}

func refuse(rw http.ResponseWriter, status int, text, next string) {
	rw.Header().Set("Cache-Control", "no-store")
	WriteJSON(rw, status, Answer{Error: &Trouble{Kind: TroubleInput, Text: text, Next: next}})
}
