package main

import (
	"context"
	"errors"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"time"

	"packwright/audit"
	"packwright/events"
	"packwright/workflow"
	"packwright/workflow/engine"
)

// health is what GET /health tells. OK is the green light.
type health struct {
	OK       bool         `json:"ok"`
	Trouble  []string     `json:"trouble,omitempty"`
	Floor    string       `json:"floor"`
	Since    time.Time    `json:"since"`
	Bus      string       `json:"bus"` // up, down
	Head     engine.Head  `json:"head"`
	Auditor  *auditing    `json:"auditor,omitempty"`
	Disk     *disk        `json:"disk,omitempty"` // left out when it cannot be told
	Snapshot *time.Time   `json:"snapshot,omitempty"`
	Backup   *backedUp    `json:"backup,omitempty"`        // the last; left out when there was none
	Scales   []scaleSeen  `json:"scales,omitempty"`        // by name
	Last     *events.Time `json:"last_recorded,omitempty"` // of the newest event that the auditor has read
	LeftOut  uint64       `json:"events_not_published,omitempty"`
}

// auditing is how far the auditor's own reading has come, and whether it agrees.
type auditing struct {
	Frame   uint64 `json:"frame"`
	Lag     uint64 `json:"lag"`     // durable frames not read yet
	Digests string `json:"digests"` // equal, unequal: of the cells, at every frame read
}

// scaleSeen is the last check of a scale against a reference mass.
type scaleSeen struct {
	Scale   string      `json:"scale"`
	Checked events.Time `json:"checked"`
	OK      bool        `json:"ok"`
}

type disk struct {
	Free  uint64 `json:"free"`
	Total uint64 `json:"total"`
}

// health looks at everything that must be well.
func (h *hub) health(ctx context.Context, l *light) (any, bool) {
	r := health{Floor: h.about.Floor, Since: h.begun, Bus: "up", Head: h.writer.Head()}
	if !h.log.Conn().IsConnected() {
		r.Bus = "down"
		r.Trouble = append(r.Trouble, "the bus is not connected")
	}
	for _, err := range []error{l.why(), h.writer.Err()} {
		if err != nil {
			r.Trouble = append(r.Trouble, err.Error())
		}
	}
	if h.heads != nil && h.heads.key == nil && h.about.Key != "" {
		r.Trouble = append(r.Trouble, "the key that signs the log's heads is not at hand: "+h.about.KeyFile)
	}
	if free, total, err := h.log.Free(); err == nil {
		r.Disk = &disk{free, total}
	} else if !errors.Is(err, errors.ErrUnsupported) {
		r.Trouble = append(r.Trouble, err.Error())
	}
	if h.books != nil {
		r.Auditor = &auditing{Frame: h.books.Checkpoint().Seq, Digests: "equal"}
		r.Auditor.Lag = h.lag()
		h.books.View(func(f *audit.Fold) {
			if last := f.Now(); !last.IsZero() {
				r.Last = &last
			}
		})
		if h.books.Err() != nil {
			r.Auditor.Digests = "unequal"
		}
	}
	r.Snapshot = h.newestSnapshot()
	var err error
	if r.Backup, err = h.place.lastBackup(); err != nil {
		r.Trouble = append(r.Trouble, err.Error())
	}
	r.Scales = h.scales(ctx)
	if h.events != nil {
		r.LeftOut = h.events.LeftOut()
	}
	r.OK = len(r.Trouble) == 0
	return r, r.OK
}

// scales asks the writer, briefly: a writer that has ended says so elsewhere.
func (h *hub) scales(ctx context.Context) (out []scaleSeen) {
	ctx, cancel := context.WithTimeout(ctx, 2*time.Second)
	defer cancel()
	_ = h.writer.View(ctx, func(f *workflow.Floor) { out = scalesOf(f) })
	return out
}

func scalesOf(f *workflow.Floor) (out []scaleSeen) {
	for _, name := range slices.Sorted(maps.Keys(f.Scales)) {
		out = append(out, scaleSeen{name, f.Scales[name].Checked, f.Scales[name].OK})
	}
	return out
}

// newestSnapshot tells when a snapshot was last written.
func (h *hub) newestSnapshot() (at *time.Time) {
	files, _ := filepath.Glob(h.place.snapshot() + "/*.snapshot")
	for _, f := range files {
		if st, err := os.Stat(f); err == nil && (at == nil || st.ModTime().After(*at)) {
			t := st.ModTime()
			at = &t
		}
	}
	return at
}
