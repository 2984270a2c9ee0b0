package web

import (
	"encoding/json"
	"net/http"
	"strings"
	"time"

	"packwright/cmd/packwright/door"
	"packwright/events"
	"packwright/prep"
	"packwright/workflow"
)

// A log may be put back from an older copy, and then lacks work that was answered.
// The browser at a bench keeps what its scans came to ([lasting.Keep]), as it was
// told, until a backup that was verified has it ([lasting.Safe]), within bounds of
// number and age (static/kept.js). When the floor's era is another than the one in
// which it was answered, it gives it once more under its own id: a floor that has
// it says already, and keeps it once. A bench that counts is told nothing of all
// this.

// lasting is what a browser needs to know for that. It holds no number of anything.
type lasting struct {
	Era  string      `json:"era"`            // of the log that answers
	Now  events.Time `json:"now"`            // by the hub's clock
	Safe events.Time `json:"safe,omitzero"`  // what was answered before is in a verified backup
	Keep []string    `json:"keep,omitempty"` // commands that followed from the scan, as JSON, to be sent as they are
}

// lastingOf fills in what is the same for everybody.
func (p *Pages) lastingOf(f *workflow.Floor, safe time.Time) *lasting {
	l := &lasting{Now: events.At(p.Now())}
	if n := len(f.Eras); n > 0 {
		l.Era = f.Eras[n-1].Name
	}
	if !safe.IsZero() {
		l.Safe = events.At(safe)
	}
	return l
}

// safeSince asks when the last verified backup began; zero: there is none.
func (p *Pages) safeSince() time.Time {
	if p.Safe == nil {
		return time.Time{}
	}
	return p.Safe()
}

// keep adds what a scan came to, unless the bench counts.
func (l *lasting) keep(given []workflow.Command) {
	if l == nil {
		return
	}
	for i := range given {
		if line, err := json.Marshal(&given[i]); err == nil && workflow.SentAgain(given[i].Type) {
			l.Keep = append(l.Keep, string(line))
		}
	}
}

// benchAgain takes one command that was answered in an earlier era. What it comes
// to is said in a word: the page shows no more of it.
func (p *Pages) benchAgain(w http.ResponseWriter, r *http.Request) {
	who := door.WhoOf(r.Context())
	var in struct{ Command string }
	var c workflow.Command
	err := readJSON(w, r, &in)
	if err == nil {
		err = json.Unmarshal([]byte(in.Command), &c)
	}
	if err != nil || who.Badge == "" || !workflow.SentAgain(c.Type) || !strings.HasPrefix(c.ID, who.Station+"/") || c.Badge != "" && c.Badge != who.Badge {
		door.WriteTrouble(w, prep.Input("that is nothing this bench may send again", "scan it anew"))
		return
	}
	c.Offline, c.Basis, c.Held, c.HeldRoot, c.HeldEra = true, "", 0, "", ""
	a := p.Floor.Ask(r.Context(), c)
	if !a.Answered() {
		p.unreached(w, a.Err())
		return
	}
	outcome := a.Outcome
	if outcome == "" {
		outcome = workflow.No
	}
	door.WriteJSON(w, http.StatusOK, struct {
		Outcome workflow.Outcome `json:"outcome"`
	}{outcome})
}
