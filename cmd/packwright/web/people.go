package web

import (
	"crypto/rand"
	"fmt"
	"math/big"
	"net/http"
	"slices"
	"strings"

	"packwright/audit"
	"packwright/cmd/packwright/door"
	"packwright/events"
	"packwright/prep"
	"packwright/workflow"
)

// peoplePage is who may what, and where they are.
type peoplePage struct {
	Sheet
	People []personRow
	Enrol  Form
	Roles  []events.Role
	Fresh  *freshPIN // given just now; shown once
	Owners bool      // this badge may make owners
}

// personRow is one badge.
type personRow struct {
	audit.BadgeView
	Station string
	PIN     bool
	Retire  Form
}

// freshPIN is a PIN that its badge has to change when it signs in.
type freshPIN struct{ Badge, PIN string }

// people lists the badges.
func (p *Pages) people(w http.ResponseWriter, r *http.Request) { p.showPeople(w, r, nil) }

func (p *Pages) showPeople(w http.ResponseWriter, r *http.Request, fresh *freshPIN) {
	page := peoplePage{Fresh: fresh}
	at := map[string]string{}
	err := p.Writer.View(r.Context(), func(f *workflow.Floor) {
		for _, b := range f.Badges {
			at[b.Badge] = b.Station
		}
	})
	if err == nil {
		err = p.Log.Look(r.Context(), p.At, func(v View) error {
			page.Sheet = p.sheet(r.Context(), v, "Who may what?")
			page.fill(p, v, at)
			return nil
		})
	}
	p.showOr(w, r, err, "people", &page)
}

func (x *peoplePage) fill(p *Pages, v View, at map[string]string) {
	x.Nav, x.Styles = "/people", []string{"desk.css", "people.css"}
	x.Owners = x.Who.Is(events.Owner)
	x.Enrol = form(x.Who, "enrol-badge", "/people")
	x.Roles = []events.Role{events.Packer, events.Lead, events.Supervisor, events.Client, events.Auditor}
	if x.Owners {
		x.Roles = append(x.Roles, events.Owner)
	}
	for _, b := range v.Badges() {
		x.People = append(x.People, personRow{b, at[b.Badge], p.Entry.HasPIN(b.Badge), form(x.Who, "retire-badge", "/people")})
	}
	slices.SortStableFunc(x.People, func(a, b personRow) int { return retiredRank(a) - retiredRank(b) })
}

func retiredRank(p personRow) int {
	if p.Retired {
		return 1
	}
	return 0
}

// givePIN draws a PIN that its badge must change at once, and shows it once. Only
// an owner gives one to an owner, or a supervisor could come in as one.
func (p *Pages) givePIN(w http.ResponseWriter, r *http.Request) {
	r.Body = http.MaxBytesReader(w, r.Body, 4<<10)
	badge := strings.TrimSpace(r.PostFormValue("badge"))
	who := door.WhoOf(r.Context())
	var roles []events.Role
	err := p.Log.Look(r.Context(), p.At, func(v View) error {
		b, err := v.Badge(badge)
		if err == nil && b.Retired {
			err = prep.Input(badge+" is retired", "enrol another badge")
		}
		roles = b.Roles
		return err
	})
	if err == nil && slices.Contains(roles, events.Owner) && !who.Is(events.Owner) {
		err = prep.Input(badge+" is an owner's badge", "an owner gives it a PIN, or packwright pin on the hub's machine")
	}
	var digits string
	if err == nil {
		digits, err = drawPIN()
	}
	if err == nil {
		err = p.Entry.SetPIN(badge, digits, true)
	}
	if err != nil {
		p.refuse(w, r, err)
		return
	}
	p.Logger.Info().Str("badge", badge).Str("by", who.Badge).Msg("a PIN was given")
	p.showPeople(w, r, &freshPIN{badge, digits})
}

// drawPIN draws six digits that are not all alike.
func drawPIN() (string, error) {
	for {
		n, err := rand.Int(rand.Reader, big.NewInt(1_000_000))
		if err != nil {
			return "", err
		}
		if s := fmt.Sprintf("%06d", n); strings.Count(s, s[:1]) < len(s) {
			return s, nil
		}
	}
}
