package main

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"slices"
	"sync"
	"time"

	"packwright/cmd/packwright/door"
	"packwright/prep"
	"packwright/workflow"
	"packwright/workflow/engine"
)

// scanners are the reading machines of a hub, by station.
type scanners struct {
	floor  door.Floor
	writer *engine.Engine
	now    func() time.Time
	dir    string // where their files are; empty: nothing is written down

	mu sync.Mutex
	at map[string]*scanner
}

func newScanners(floor door.Floor, writer *engine.Engine, now func() time.Time, dir string) *scanners {
	return &scanners{floor: floor, writer: writer, now: now, dir: dir, at: map[string]*scanner{}}
}

// Scan takes one scan at a station.
func (s *scanners) Scan(ctx context.Context, station string, in typed) (workflow.Said, error) {
	x, err := s.of(ctx, station)
	if err != nil {
		return workflow.Said{}, err
	}
	return x.scan(ctx, in)
}

// Given lists what the floor kept of the scan that a station's machine took last,
// if it was this one.
func (s *scanners) Given(ctx context.Context, station string, in typed) []workflow.Command {
	x, err := s.of(ctx, station)
	if err != nil {
		return nil
	}
	x.mu.Lock()
	defer x.mu.Unlock()
	if in.Session != x.kept.Taken.Session || in.N != x.kept.Taken.N {
		return nil
	}
	return slices.Clone(x.kept.Given)
}

// Look shows a station's machine as it stands.
func (s *scanners) Look(ctx context.Context, station string, show func(*workflow.Floor, *workflow.Bench, workflow.Said)) error {
	x, err := s.of(ctx, station)
	if err != nil {
		return err
	}
	return x.look(ctx, show)
}

// Close lets go of the benches' files.
func (s *scanners) Close() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	var errs []error
	for _, x := range s.at {
		x.mu.Lock()
		errs = append(errs, x.file.close())
		x.mu.Unlock()
	}
	return errors.Join(errs...)
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
	joined := false
	if err := s.writer.View(ctx, func(f *workflow.Floor) { joined = f.Stations[station] != nil }); err != nil {
		return nil, err
	}
	if !joined {
		return nil, nothing("station "+station+" has not joined this floor", "join it first")
	}
	x := newScanner(station, s.floor, s.writer, s.now)
	if s.dir != "" {
		if err := x.open(ctx, s.dir); err != nil {
			return nil, err
		}
	}
	s.at[station] = x
	return x, nil
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
