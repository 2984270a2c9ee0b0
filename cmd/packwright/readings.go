package main

import (
	"net/http"
	"time"

	"packwright/cmd/packwright/door"
)

// readings is the one table of what can be read of a running hub: what the
// writer tells, and what the audit does.
func (h *hub) readings(now func() time.Time) []door.Route {
	return append([]door.Route{
		{Pattern: "GET /head", About: "how far the log has come: frame, events, root", May: door.Readers, Handle: h.readHead},
		{Pattern: "GET /rules/explain/{item}", About: "what an item gets by the rulebook in force, and why", May: door.Hands | door.Readers, Blind: true, Handle: h.readExplain},
		{Pattern: "GET /items/{item}", About: "an item of the catalogue", May: door.Hands | door.Readers, Handle: h.readItem},
	}, h.auditRoutes(now)...)
}

func (h *hub) readHead(w http.ResponseWriter, r *http.Request) {
	door.WriteJSON(w, http.StatusOK, h.writer.Head())
}

func (h *hub) readExplain(w http.ResponseWriter, r *http.Request) {
	e, err := h.explain(r.Context(), r.PathValue("item"))
	if err != nil {
		door.WriteTrouble(w, err)
		return
	}
	door.WriteJSON(w, http.StatusOK, e)
}
