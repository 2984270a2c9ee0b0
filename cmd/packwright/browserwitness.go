package main

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"packwright/cmd/packwright/door"
	"packwright/events"
	"packwright/workflow"
	"packwright/workflow/engine"
)

// Browsers are witnesses too, without a script knowing of it: each answer to
// something a signed-in browser did, or one that is a bench, leaves the newest
// head in a cookie, and what it does next shows it: every command that follows
// from it carries that head, and is refused with E-SYS-05 by a log which does not
// have it. What gives no command is compared all the same. Either turns the hub's
// light red. A browser that holds more than the log is not told to forget it.

// heldCookie names the cookie of a floor; several may be asked by one name.
func heldCookie(floor string) string { return "packwright-held-" + floor }

// heldDays is how long a browser remembers, in days: benches stand idle for weeks.
const heldDays = 400

// witnessed lets the routes that do something be watched by those who use them.
func (h *hub) witnessed(l *light, routes []door.Route) []door.Route {
	out := make([]door.Route, len(routes))
	for i, r := range routes {
		if next := r.Handle; strings.HasPrefix(r.Pattern, http.MethodPost+" ") {
			r.Handle = func(w http.ResponseWriter, q *http.Request) {
				if door.WhoOf(q.Context()).As()&door.Stranger != 0 { // whom nobody knows could have invented a head
					next(w, q)
					return
				}
				held := h.shown(q)
				q = q.WithContext(context.WithValue(q.Context(), heldKey{}, held))
				if has, err := h.writer.Has(q.Context(), held); err == nil && !has {
					next(w, q) // its command is told E-SYS-05
					l.turn(behind("a browser at "+q.RemoteAddr, held, h.writer.Head()))
					return
				}
				next(&telling{ResponseWriter: w, tell: func(w http.ResponseWriter) { h.remind(w, q) }}, q)
			}
		}
		out[i] = r
	}
	return out
}

// shown gives the head that a browser shows; frame 0: none.
func (h *hub) shown(q *http.Request) engine.Head {
	c, err := q.Cookie(heldCookie(h.about.Floor))
	if err != nil {
		return engine.Head{}
	}
	part := strings.SplitN(c.Value, "/", 3)
	frame, err := strconv.ParseUint(part[0], 10, 64)
	if err != nil || len(part) != 3 {
		return engine.Head{} // not ours
	}
	era, err := url.QueryUnescape(part[2])
	if err != nil {
		return engine.Head{}
	}
	return engine.Head{Frame: frame, Root: part[1], Era: era}
}

type heldKey struct{}

// witnessing is a floor whose commands carry the head that the browser shows
// which they come from.
type witnessing struct{ door.Floor }

func (f witnessing) Ask(ctx context.Context, c workflow.Command) door.Answer {
	if held, ok := ctx.Value(heldKey{}).(engine.Head); ok && c.Held == 0 {
		c.Held, c.HeldRoot, c.HeldEra = held.Frame, held.Root, held.Era
	}
	return f.Floor.Ask(ctx, c)
}

// remind leaves the newest head with a browser.
func (h *hub) remind(w http.ResponseWriter, q *http.Request) {
	now := h.writer.Head()
	http.SetCookie(w, &http.Cookie{Name: heldCookie(h.about.Floor), Value: fmt.Sprintf("%d/%s/%s", now.Frame, now.Root, url.QueryEscape(now.Era)),
		Path: "/", HttpOnly: true, SameSite: http.SameSiteStrictMode, Secure: q.TLS != nil, MaxAge: heldDays * 24 * 60 * 60})
}

// telling is an answer to which something is added just before it is sent, when
// all that was done is durable.
type telling struct {
	http.ResponseWriter
	tell func(http.ResponseWriter)
}

func (t *telling) say() {
	if t.tell != nil {
		t.tell(t.ResponseWriter)
		t.tell = nil
	}
}

// WriteHeader sends the status, and the head with it.
func (t *telling) WriteHeader(status int) {
	t.say()
	t.ResponseWriter.WriteHeader(status)
}

// Write sends what follows.
func (t *telling) Write(b []byte) (int, error) {
	t.say()
	return t.ResponseWriter.Write(b)
}

// Unwrap is for http.ResponseController.
func (t *telling) Unwrap() http.ResponseWriter { return t.ResponseWriter }

// behind says what somebody was told that this log does not have.
func behind(who string, held, has engine.Head) error {
	return fmt.Errorf("%w: %s was told that frame %d ends with root %.16s; the log here ends at frame %d with root %.16s: an older log, or another, stands in its place. If what was seen is lost for good, the owner says so: packwright restore --accept-loss --head %d:%.16s",
		events.ErrCorrupt, who, held.Frame, held.Root, has.Frame, has.Root, held.Frame, held.Root)
}
