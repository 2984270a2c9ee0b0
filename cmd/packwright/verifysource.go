package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"packwright/audit/follow"
	"packwright/cmd/packwright/door"
	"packwright/events"
	"packwright/events/natslog"
	"packwright/events/proof"
	"packwright/workflow"
	"packwright/workflow/engine"
)

// verifySource is a log to be verified: a copy of the store, or a hub's.
type verifySource struct {
	logSource
	web  *door.WebClient // of the hub
	copy string          // directory of the copy
}

// verifySource copies the store, or reaches the hub.
func (d *desk) verifySource() (*verifySource, error) {
	if d.URL != "" {
		src, err := d.source("")
		if err != nil {
			return nil, err
		}
		return &verifySource{logSource: src, web: src.Log.(webLog).web}, nil
	}
	about, err := place(d.Data).founded()
	if err != nil {
		return nil, err
	}
	dir, err := os.MkdirTemp("", "packwright-verify-")
	if err != nil {
		return nil, err
	}
	src := &verifySource{copy: dir}
	keeping := about.keeping(place(d.Data))
	if about.NATS == nil { // reading from a bus leaves it as it is; a store is copied first
		keeping = natslog.Config{Floor: about.Floor, Dir: filepath.Join(dir, "store"), NoSync: true}
	}
	keeping.Program = "packwright verify"
	if err := d.copyFloor(about, dir); err != nil {
		return nil, errors.Join(err, os.RemoveAll(dir))
	}
	src.logSource, err = d.openStore(about, keeping)
	if err != nil {
		return nil, errors.Join(err, os.RemoveAll(dir))
	}
	return src, nil
}

// copyFloor copies store and snapshot while nobody can write to them. The copy
// needs as much room again in the directory for temporary files (TMPDIR), which is
// looked at first.
func (d *desk) copyFloor(about founded, to string) error {
	at := place(d.Data)
	if about.NATS != nil {
		return copySnapshot(at, to)
	}
	if _, err := os.Stat(at.store()); errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%w: the store of %s is gone", events.ErrCorrupt, at)
	}
	held, err := natslog.Hold(at.store(), "packwright verify")
	if err != nil {
		return err
	}
	err = d.copyTree(filepath.Join(to, "store"), at.store())
	if err == nil {
		err = copySnapshot(at, to)
	}
	return errors.Join(err, held.Close())
}

// copySnapshot copies what a start would use beside the log; there may be none.
func copySnapshot(at place, to string) error {
	err := os.CopyFS(filepath.Join(to, "snapshot"), os.DirFS(at.snapshot()))
	if errors.Is(err, fs.ErrNotExist) {
		err = os.Mkdir(filepath.Join(to, "snapshot"), 0o700)
	}
	return err
}

// Close lets go of the log and removes the copy.
func (s *verifySource) Close() error {
	err := s.logSource.Close()
	if s.copy != "" {
		err = errors.Join(err, os.RemoveAll(s.copy))
	}
	return err
}

// deciderState is the decider's floor at an event, as one digest, and how far
// the auditor beside it had come then.
type deciderState struct {
	Last   events.Seq        `json:"last"`
	Digest string            `json:"digest"`
	Audit  follow.Checkpoint `json:"audit"`
}

// rebuilt compares states that were come to in different ways.
type rebuilt struct {
	Last    events.Seq `json:"last"`
	Digest  string     `json:"digest"`  // of the decider's floor, folded from event 1
	Against string     `json:"against"` // what it was compared with
	Equal   bool       `json:"equal"`
}

func (r *rebuilt) text(b *strings.Builder) {
	word := "equal to"
	if !r.Equal {
		word = "DIFFERS from"
	}
	fmt.Fprintf(b, "decider rebuilt from event 1 to event %s: state %.16s, %s %s\n", r.Last, r.Digest, word, r.Against)
}

// rebuild folds the decider's floor from event 1 and compares it: with what
// snapshot and tail give in a copy, or with the hub's live state.
func (s *verifySource) rebuild(d *desk) (*rebuilt, error) {
	policy, err := s.policy(d)
	if err != nil {
		return nil, err
	}
	live, against, err := s.state(d, policy)
	if err != nil {
		return nil, err
	}
	floor, err := deciderAt(d.ctx, s, policy, live.Last)
	if err != nil {
		return nil, err
	}
	r := &rebuilt{Last: live.Last, Against: against}
	if r.Digest, err = engine.Digest(floor); err != nil {
		return nil, err
	}
	if r.Equal = r.Digest == live.Digest; !r.Equal {
		return r, fmt.Errorf("%w: rebuilt from event 1 to %s the decider's state is %.16s; %s has %.16s", events.ErrCorrupt, r.Last, r.Digest, against, live.Digest)
	}
	return r, follow.Rebuilt(d.ctx, s, live.Audit)
}

// policy is the floor's own; a hub's stays with it, and does not enter the state.
func (s *verifySource) policy(d *desk) (*workflow.Policy, error) {
	if s.web != nil {
		return workflow.DefaultPolicy(), nil
	}
	return place(d.Data).readPolicy()
}

// state is what the rebuild is compared with.
func (s *verifySource) state(d *desk, policy *workflow.Policy) (state deciderState, from string, err error) {
	if s.web != nil {
		err = s.web.Read(d.ctx, "/state", &state)
		return state, "the running hub", err
	}
	e, err := engine.Open(d.ctx, engine.Config{Log: s, Floor: s.about.Floor, Policy: policy, Now: time.Now, Snapshot: filepath.Join(s.copy, "snapshot"), Logger: d.log})
	if err != nil {
		return state, "", err
	}
	a := newAuditor(s)
	err = a.read(d.ctx)
	if err == nil {
		state, err = stateOf(d.ctx, e)
		state.Audit = a.reader.Checkpoint()
	}
	return state, "the snapshot and what follows it", errors.Join(err, e.Close())
}

// stateOf gives the decider's state as it stands between two commands. Some of
// it may not be durable yet.
func stateOf(ctx context.Context, e *engine.Engine) (s deciderState, err error) {
	gone := e.View(ctx, func(f *workflow.Floor) {
		s.Last = f.Seq
		s.Digest, err = engine.Digest(f)
	})
	return s, errors.Join(gone, err)
}

// deciderAt folds the decider's floor from event 1 to an event, which may stand
// in the middle of a frame.
func deciderAt(ctx context.Context, log events.Log, policy *workflow.Policy, last events.Seq) (*workflow.Floor, error) {
	floor, chain := workflow.NewFloor(policy), proof.Chain{}
	err := log.Scan(ctx, 1, func(seq uint64, frame []byte) error {
		_, lines, err := chain.Take(seq, frame)
		if err != nil {
			return err
		}
		evs, err := events.DecodeLines(seq, lines)
		if err != nil {
			return err
		}
		for i := range evs {
			if last.Less(evs[i].Seq) {
				return errFull
			}
			if err := floor.Apply(&evs[i]); err != nil {
				return err
			}
		}
		return nil
	})
	if errors.Is(err, errFull) {
		err = nil
	}
	return floor, err
}
