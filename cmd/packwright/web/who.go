package web

import (
	"context"
	"crypto/subtle"
	"net/http"

	"packwright/cmd/packwright/door"
	"packwright/workflow"
)

// The cookies: who is signed in on this browser, and which bench it is.
const (
	sessionCookie = "packwright-badge"
	benchCookie   = "packwright-bench"
)

// Who says who asks. A session whose badge the log has retired is nobody's.
func (p *Pages) Who(r *http.Request) door.Who {
	if _, word, ok := r.BasicAuth(); ok {
		if subtle.ConstantTimeCompare([]byte(word), []byte(p.Entry.House())) == 1 {
			return door.Who{House: true}
		}
		return door.Who{}
	}
	var who door.Who
	if c, err := r.Cookie(benchCookie); err == nil {
		who.Station, who.Bench = p.Entry.Bench(c.Value)
	}
	c, err := r.Cookie(sessionCookie)
	if err != nil {
		return who
	}
	s, ok := p.Entry.Session(c.Value)
	if !ok || s.Bench != who.Bench || s.Bench && s.Station != who.Station {
		return who
	}
	return p.named(r.Context(), who, s.Badge, s.Station, c.Value)
}

// named fills in what the log says of a badge.
func (p *Pages) named(ctx context.Context, who door.Who, badge, station, key string) door.Who {
	err := p.Writer.View(ctx, func(f *workflow.Floor) {
		b := f.Badges[badge]
		if b == nil || b.Retired {
			return
		}
		who.Badge, who.Station, who.Key = badge, station, key
		who.Roles = append(who.Roles, b.Roles...)
		who.OwnerOf = b.OwnerOf
	})
	if err != nil {
		p.Logger.Debug().Err(err).Msg("the floor cannot be asked who somebody is")
	}
	return who
}

// Counting says whether a bench is between FINISH CARTON and its count: of its own
// carton, or of one that was brought to it.
func (p *Pages) Counting(ctx context.Context, station string) (blind bool) {
	err := p.Reader.Look(ctx, station, func(f *workflow.Floor, b *workflow.Bench, _ workflow.Said) { blind = f.Blind(station, b.Counting()) })
	if err != nil {
		p.Logger.Debug().Err(err).Str("station", station).Msg("whether a bench counts is not known: it is told nothing")
		return true
	}
	return blind
}

// setCookie keeps a token in the browser: out of reach of scripts, and not sent
// along from another site. Seconds 0: as long as the browser runs.
func setCookie(w http.ResponseWriter, r *http.Request, name, token string, seconds int) {
	http.SetCookie(w, &http.Cookie{Name: name, Value: token, Path: "/", HttpOnly: true, SameSite: http.SameSiteStrictMode, Secure: r.TLS != nil, MaxAge: seconds})
}
