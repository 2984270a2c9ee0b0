package main

import (
	"context"
	"net/http"
	"strconv"
	"time"

	"packwright/cmd/packwright/door"
	"packwright/prep"
)

// auditRoutes are the questions, and the log itself for those who prove it
// themselves. The hub's books must be open.
func (h *hub) auditRoutes(now func() time.Time) []door.Route {
	a := asking{&auditor{h.log, h.books.Follower, now}, func(ctx context.Context) error { return h.books.reach(ctx, h.writer.Head().Frame) }}
	return append(a.routes(),
		door.Route{Pattern: "GET /floor", About: "which floor this is", May: door.Readers, Handle: h.readFloor},
		door.Route{Pattern: "GET /frames", About: "frames as they stand in the log, base64; ?from=", May: door.Readers, Handle: h.readFrames},
		door.Route{Pattern: "GET /state", About: "digest of the decider's state, and how far the auditor has come", May: door.Readers, Handle: h.readState},
	)
}

func (h *hub) readFloor(w http.ResponseWriter, _ *http.Request) {
	about := h.about
	about.KeyFile, about.NATS = "", nil // where things lie here is nobody's business
	door.WriteJSON(w, http.StatusOK, about)
}

func (h *hub) readFrames(w http.ResponseWriter, r *http.Request) {
	from, err := strconv.ParseUint(r.URL.Query().Get("from"), 10, 64)
	if err != nil || from == 0 {
		door.WriteTrouble(w, prep.Input("a page of frames without a beginning", "say from which on with ?from=1"))
		return
	}
	page, err := readPage(r.Context(), h.log, from)
	if err != nil {
		door.WriteTrouble(w, err)
		return
	}
	door.WriteJSON(w, http.StatusOK, page)
}

// readState tells the decider's state, once the books hold as much.
func (h *hub) readState(w http.ResponseWriter, r *http.Request) {
	ctx, cancel := context.WithTimeout(r.Context(), patience)
	defer cancel()
	state, err := stateOf(ctx, h.writer)
	if err == nil {
		err = h.books.reach(ctx, state.Last.Frame)
	}
	if err != nil {
		door.WriteTrouble(w, err)
		return
	}
	state.Audit = h.books.Checkpoint()
	door.WriteJSON(w, http.StatusOK, state)
}
