package main

import (
	"context"
	"encoding/json"
	"net/http"
	"sync"
	"time"

	"packwright/cmd/packwright/door"
	"packwright/cmd/packwright/web"
	"packwright/events"
	"packwright/prep"
	"packwright/workflow"
	"packwright/workflow/engine"
)

// scanner is the reading machine of one bench, kept beside the writer: what the
// bench has in hand, and the command that waits for its answer.
type scanner struct {
	floor  door.Floor
	writer *engine.Engine
	now    func() time.Time

	mu    sync.Mutex
	bench workflow.Bench
	last  typed // answered last
	said  workflow.Said
}

// typed is one scan as it is sent.
type typed = web.Typed

func newScanner(station string, floor door.Floor, writer *engine.Engine, now func() time.Time) *scanner {
	return &scanner{floor: floor, writer: writer, now: now, bench: workflow.Bench{Station: station, Epoch: newEpoch("scan")}}
}

// scan takes what the reader typed, gives what follows to the floor, and says
// the sentence of the end. Errors: those of View.
func (s *scanner) scan(ctx context.Context, in typed) (workflow.Said, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if in.Session != "" && in.Session == s.last.Session && in.N == s.last.N {
		return s.said, nil
	}
	if c := s.bench.Pending(); c != nil { // the floor was away when it was given
		if said, err := s.finish(ctx, workflow.Said{Command: c}); err != nil || said.Code == workflow.Away().Code {
			return said, err
		}
	}
	var said workflow.Said
	err := s.writer.View(ctx, func(f *workflow.Floor) { said = s.bench.Scan(f, in.Raw, events.At(s.now())) })
	if err == nil {
		said, err = s.finish(ctx, said)
	}
	if err == nil {
		s.last, s.said = in, said
	}
	return said, err
}

// finish gives commands until there is nothing more to give.
func (s *scanner) finish(ctx context.Context, said workflow.Said) (workflow.Said, error) {
	for said.Command != nil {
		a := s.floor.Ask(ctx, *said.Command)
		if !a.Answered() {
			away := workflow.Away()
			return workflow.Said{Outcome: workflow.No, Code: away.Code, Text: away.Text, Next: away.Next}, nil
		}
		no := a.Refusal
		if no == nil && a.Error != nil {
			no = &workflow.Refusal{Text: a.Error.Text, Next: a.Error.Next}
		}
		if err := s.writer.View(ctx, func(f *workflow.Floor) { said = s.bench.Answer(f, a.Outcome, no) }); err != nil {
			return said, err
		}
	}
	return said, nil
}

// scanners are those of a hub, by station; each lives as long as the hub.
type scanners struct {
	floor  door.Floor
	writer *engine.Engine
	now    func() time.Time

	mu sync.Mutex
	at map[string]*scanner
}

func newScanners(floor door.Floor, writer *engine.Engine, now func() time.Time) *scanners {
	return &scanners{floor: floor, writer: writer, now: now, at: map[string]*scanner{}}
}

// Scan takes one scan at a station.
func (s *scanners) Scan(ctx context.Context, station string, in typed) (workflow.Said, error) {
	x, err := s.of(ctx, station)
	if err != nil {
		return workflow.Said{}, err
	}
	return x.scan(ctx, in)
}

// route takes scans over HTTP.
func (s *scanners) route() door.Route {
	return door.Route{Pattern: "POST /scan/{station}", About: "what a reader at a bench typed, as {session, n, raw}; gives the sentence", May: door.House, Handle: s.serve}
}

// of gives a station's scanner. A name that has not joined gets none kept.
func (s *scanners) of(ctx context.Context, station string) (*scanner, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if x := s.at[station]; x != nil {
		return x, nil
	}
	x := newScanner(station, s.floor, s.writer, s.now)
	joined := false
	err := s.writer.View(ctx, func(f *workflow.Floor) { joined = f.Stations[station] != nil })
	if err == nil && !joined {
		err = nothing("station "+station+" has not joined this floor", "join it first")
	}
	if err == nil {
		s.at[station] = x
	}
	return x, err
}

func (s *scanners) serve(w http.ResponseWriter, r *http.Request) {
	var in typed
	dec := json.NewDecoder(http.MaxBytesReader(w, r.Body, 4<<10))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&in); err != nil {
		door.WriteTrouble(w, prep.Input("the scan cannot be read: "+err.Error(), `send {"session":"…","n":1,"raw":"C-05"}`))
		return
	}
	said, err := s.Scan(r.Context(), r.PathValue("station"), in)
	if err != nil {
		writeUnknown(w, err)
		return
	}
	door.WriteJSON(w, http.StatusOK, said)
}
