package web

import (
	"encoding/json"
	"slices"
	"sync"
	"time"

	"github.com/rs/zerolog"
)

// hall holds a room for each topic and crowd that somebody follows. A room draws
// its topic once when the log has moved, however many sit in it, and tells them
// what changed; the last to leave puts out the light.
type hall struct {
	moved func() <-chan struct{}
	log   zerolog.Logger

	mu    sync.Mutex
	rooms map[roomKey]*room
}

// hall gives the one of these pages.
func (p *Pages) hall() *hall {
	p.once.Do(func() { p.rooms = &hall{moved: p.Log.Moved, log: p.Logger, rooms: map[roomKey]*room{}} })
	return p.rooms
}

type roomKey struct{ topic, crowd string }

// drawing gives all parts of a topic and the hub's clock.
type drawing func() (parts []Part, clock string, err error)

// room is one topic for one crowd.
type room struct {
	hall  *hall
	key   roomKey
	draw  drawing
	stop  chan struct{}
	mu    sync.Mutex
	seats []*seat
	drawn []Part
	clock string
}

// seat is one reader's place. It holds a few messages; who does not take them in
// time is dropped, and comes back for the whole.
type seat struct {
	take    chan []byte
	dropped chan struct{}
	once    sync.Once
}

const seatHolds = 32

func newSeat() *seat { return &seat{take: make(chan []byte, seatHolds), dropped: make(chan struct{})} }

// give never waits.
func (s *seat) give(b []byte) {
	select {
	case s.take <- b:
	default:
		s.once.Do(func() { close(s.dropped) })
	}
}

// Between two drawings: at least restLeast, and so long that drawing takes at most
// a fifth of one core; after restMost a clock's minute may have passed.
const (
	restLeast = 40 * time.Millisecond
	restShare = 4
	restLong  = 200 * time.Millisecond
	restMost  = 15 * time.Second
)

// enter seats a reader and gives all there is; the first opens the room.
func (h *hall) enter(key roomKey, s *seat, draw drawing) (leave func()) {
	h.mu.Lock()
	defer h.mu.Unlock()
	r := h.rooms[key]
	if r == nil {
		r = &room{hall: h, key: key, draw: draw, stop: make(chan struct{})}
		h.rooms[key] = r
		moved := h.moved() // before the first look, so that nothing falls between
		r.look()
		go r.run(moved)
	}
	r.mu.Lock()
	r.seats = append(r.seats, s)
	s.give(r.message(r.drawn))
	r.mu.Unlock()
	return func() { h.leave(r, s) }
}

func (h *hall) leave(r *room, s *seat) {
	h.mu.Lock()
	defer h.mu.Unlock()
	r.mu.Lock()
	r.seats = slices.DeleteFunc(r.seats, func(x *seat) bool { return x == s })
	empty := len(r.seats) == 0
	r.mu.Unlock()
	if empty && h.rooms[r.key] == r {
		delete(h.rooms, r.key)
		close(r.stop)
	}
}

// run draws again whenever the log has moved, at once when it was at rest.
func (r *room) run(moved <-chan struct{}) {
	for {
		select {
		case <-r.stop:
			return
		case <-moved:
		case <-time.After(restMost):
		}
		moved = r.hall.moved()
		began := time.Now()
		r.look()
		rest := min(max(restLeast, restShare*time.Since(began)), restLong)
		select {
		case <-r.stop:
			return
		case <-time.After(rest):
		}
	}
}

// look draws, and tells all seats what changed.
func (r *room) look() {
	parts, clock, err := r.draw()
	if err != nil {
		r.hall.log.Warn().Err(err).Str("topic", r.key.topic).Msg("a topic could not be drawn; its pages stay as they are")
		return
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	fresh := changed(r.drawn, parts)
	r.drawn, r.clock = parts, clock
	if len(fresh) == 0 {
		return
	}
	b := r.message(fresh)
	for _, s := range r.seats {
		s.give(b)
	}
}

// changed gives those parts whose key differs from before.
func changed(before, now []Part) (out []Part) {
	was := make(map[string]string, len(before))
	for _, p := range before {
		was[p.ID] = p.key()
	}
	for _, p := range now {
		if old, ok := was[p.ID]; !ok || old != p.key() {
			out = append(out, p)
		}
	}
	return out
}

func (p Part) key() string {
	if p.Key != "" {
		return p.Key
	}
	return p.HTML
}

// message is what a stream carries; r.mu is held.
func (r *room) message(parts []Part) []byte {
	b, err := json.Marshal(struct {
		Topic string `json:"topic"`
		Clock string `json:"clock"`
		Parts []Part `json:"parts"`
	}{r.key.topic, r.clock, parts})
	if err != nil {
		panic(err) // strings only
	}
	return b
}
