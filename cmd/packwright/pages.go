package main

import (
	"context"
	"time"

	"github.com/rs/zerolog"

	"packwright/cmd/packwright/door"
	"packwright/cmd/packwright/entry"
	"packwright/cmd/packwright/web"
)

// openWeb puts the HTTP door together: what programs ask, what people see, and
// who may. At is the moment that pages show when none is asked for; empty: now.
func (h *hub) openWeb(floor door.Floor, light *light, now func() time.Time, at string, log zerolog.Logger) (*door.Web, error) {
	book, err := entry.Open(h.place.entry(), func(b []byte) error { return writeWhole(h.place.entry(), b) }, time.Now)
	if err != nil {
		return nil, err
	}
	h.entry = book
	shown := witnessing{floor}
	h.benches = newScanners(shown, h.writer, now, h.place.benches())
	bench := h.benches
	a := &auditor{h.log, h.books.Follower, now}
	pages := (&web.Pages{Floor: shown, Log: &reading{a, h.books}, Writer: h.writer, Reader: bench, Entry: book, Frames: h.log, Now: now, Safe: h.place.safeSince, Logger: log, At: at, Printer: h.printer}).Open()
	routes := append(h.readings(now), bench.route(), h.pinRoute(), h.evidenceRoute(shown, now))
	return &door.Web{Floor: floor, Logger: log, Routes: h.witnessed(light, append(routes, pages.Routes()...)), Who: pages.Who, Counting: pages.Counting,
		Health: func(ctx context.Context) (any, bool) { return h.health(ctx, light) }}, nil
}

// reading is the auditor's fold, as the pages ask it.
type reading struct {
	a     *auditor
	books *books
}

func (r *reading) Look(ctx context.Context, at string, fn func(web.View) error) error {
	return r.a.look(ctx, at, func(v view) error { return fn(web.View{Fold: v.Fold, Now: v.now, Root: v.root}) })
}

func (r *reading) Moved() <-chan struct{} { return r.books.next() }

func (r *reading) Reach(ctx context.Context, frame uint64) error {
	ctx, cancel := context.WithTimeout(ctx, patience)
	defer cancel()
	return r.books.reach(ctx, frame)
}

func (r *reading) Err() error { return r.books.Err() }

var (
	_ web.Log    = (*reading)(nil)
	_ web.Reader = (*scanners)(nil)
)
