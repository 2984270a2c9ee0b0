package web

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"packwright/cmd/packwright/door"
	"packwright/events"
)

// Part is a fragment of a page: an element with an id, whole. It is sent again
// when its key has changed; an empty key is the fragment itself. A list gives as
// key what it consists of and is followed by its entries as parts of their own, so
// that one changed carton is sent alone.
type Part struct {
	ID   string `json:"id"`
	HTML string `json:"html"`
	Key  string `json:"-"`
}

// topic is something that pages follow. It is drawn once for all who may see the
// same of it: those whom crowd gives one name.
type topic struct {
	may   door.May
	crowd func(door.Who) string
	draw  func(ctx context.Context, v View, of string) ([]Part, error)
}

// topics are what can be followed, by the word before the first slash; what comes
// after it is given to draw as of.
func (p *Pages) topics() map[string]topic {
	return map[string]topic{
		"board": {door.Readers, deskOrReader, p.boardParts},
		"wrong": {door.Readers, byRoles, p.wrongParts},
	}
}

// deskOrReader: who decides sees codes that join a bench, who only reads does not.
func deskOrReader(who door.Who) string {
	switch {
	case who.As()&(door.Supervisor|door.Owner) != 0:
		return "desk"
	case who.As()&door.House != 0:
		return "house"
	}
	return "reader"
}

// byRoles: what somebody may do is said by roles.
func byRoles(who door.Who) string {
	return fmt.Sprint(deskOrReader(who), slices.Sorted(slices.Values(who.Roles)))
}

// parts renders templates of a page as parts; each template's name is its id.
func (p *Pages) parts(page string, v any, names ...string) ([]Part, error) {
	var out []Part
	for _, name := range names {
		html, err := p.part(page, name, v)
		if err != nil {
			return nil, err
		}
		out = append(out, Part{ID: name, HTML: html})
	}
	return out, nil
}

// boardParts draws what of the board can change. The cartons come one by one.
func (p *Pages) boardParts(ctx context.Context, v View, _ string) ([]Part, error) {
	page := p.boardOf(ctx, v)
	out, err := p.headParts(page.Sheet)
	if err != nil {
		return nil, err
	}
	more, err := p.parts("board", page, "board-go", "board-pieces", "board-waits", "board-benches", "board-codes", "board-facts", "board-boxes")
	if err != nil {
		return nil, err
	}
	var names []string
	for _, b := range page.Boxes {
		names = append(names, b.Carton)
	}
	more[len(more)-1].Key = strings.Join(names, " ")
	out = append(out, more...)
	for _, b := range page.Boxes {
		html, err := p.part("board", "board-box", b)
		if err != nil {
			return nil, err
		}
		out = append(out, Part{ID: "box-" + b.Carton, HTML: html})
	}
	return out, nil
}

// headParts are the moment at the right, the rule under it, and the banner.
func (p *Pages) headParts(s Sheet) ([]Part, error) {
	when := Part{ID: "when", HTML: `<span class="when" id="when">` + s.When + `</span>`} // a clock's digits
	differ, err := p.part("said", "differ-slot", s.Differ)
	if err != nil || s.Rule == nil {
		return []Part{when, {ID: "differ", HTML: differ}}, err
	}
	rule, err := p.part("said", "rule", s.Rule)
	return []Part{when, {ID: "differ", HTML: differ}, {ID: "rule", HTML: rule}}, err
}

// How a stream lives.
const (
	beatEvery   = 10 * time.Second // a sign of life, and a look at who still listens
	writeWithin = 5 * time.Second  // a reader that takes longer is dropped; it comes back for the whole
	maxTopics   = 16
)

// live is the stream: GET /live?topic=board&topic=… gives events "parts", each
// {"topic","clock","parts":[{"id","html"}]}: first all of each topic, then what
// changes; "beat" with the hub's clock every ten seconds; "gone" when the session
// ended. Nothing is kept between two streams: who reconnects gets all.
func (p *Pages) live(w http.ResponseWriter, r *http.Request) {
	who := door.WhoOf(r.Context())
	names := slices.Compact(slices.Sorted(slices.Values(r.URL.Query()["topic"])))
	if len(names) == 0 || len(names) > maxTopics {
		http.Error(w, fmt.Sprintf("name one to %d topics with ?topic=", maxTopics), http.StatusBadRequest)
		return
	}
	s := &stream{p: p, r: r, w: w, out: http.NewResponseController(w), seat: newSeat(), who: who}
	for _, name := range names {
		word, of, _ := strings.Cut(name, "/")
		t, ok := p.topics()[word]
		if !ok || who.As()&t.may == 0 {
			http.Error(w, "no such topic for this badge: "+name, http.StatusForbidden)
			return
		}
		leave := p.hall().enter(roomKey{name, t.crowd(who)}, s.seat, p.drawing(t, of, who))
		defer leave()
	}
	w.Header().Set("Content-Type", "text/event-stream")
	w.Header().Set("X-Accel-Buffering", "no")
	s.run()
}

// drawing binds a topic to whom it is drawn for.
func (p *Pages) drawing(t topic, of string, who door.Who) drawing {
	return func() (parts []Part, clock string, err error) {
		ctx := door.WithWho(context.Background(), crowdOf(who))
		err = p.Log.Look(ctx, p.At, func(v View) error {
			clock = clockOf(v.Now)
			parts, err = t.draw(ctx, v, of)
			return err
		})
		return parts, clock, err
	}
}

// crowdOf leaves of somebody only what all of a crowd share.
func crowdOf(who door.Who) door.Who {
	return door.Who{Badge: "", Roles: who.Roles, OwnerOf: who.OwnerOf, House: who.House}
}

// stream is one reader's connection.
type stream struct {
	p    *Pages
	r    *http.Request
	w    http.ResponseWriter
	out  *http.ResponseController
	seat *seat
	who  door.Who
}

// run sends until the reader goes, is too slow, or is no longer who it was.
func (s *stream) run() {
	beat := time.NewTicker(beatEvery)
	defer beat.Stop()
	if !s.beat() {
		return
	}
	stopping := door.Stopping(s.r.Context())
	for {
		select {
		case <-s.r.Context().Done():
			return
		case <-stopping:
			return
		case <-s.seat.dropped:
			return
		case b := <-s.seat.take:
			if !s.may() || !s.send("parts", b) {
				return
			}
		case <-beat.C:
			if !s.may() || !s.beat() {
				return
			}
		}
	}
}

// may looks again at who listens: a session that has ended, or a bench that has
// begun to count, is sent nothing more.
func (s *stream) may() bool {
	now := s.p.Who(s.r)
	same := now.Key == s.who.Key && now.House == s.who.House && now.As() == s.who.As()
	if same && !(now.Bench && s.p.Counting(s.r.Context(), now.Station)) {
		return true
	}
	s.send("gone", []byte(`{}`))
	return false
}

func (s *stream) beat() bool {
	b, err := json.Marshal(map[string]string{"clock": clockOf(events.At(s.p.Now()))})
	return err == nil && s.send("beat", b)
}

// send writes one event; json holds no line break.
func (s *stream) send(kind string, body []byte) bool {
	if err := s.out.SetWriteDeadline(time.Now().Add(writeWithin)); err != nil && s.r.ProtoMajor > 0 {
		s.p.Logger.Debug().Err(err).Msg("a stream without a write deadline")
	}
	if _, err := fmt.Fprintf(s.w, "event: %s\ndata: %s\n\n", kind, body); err != nil {
		return false
	}
	return s.out.Flush() == nil
}
