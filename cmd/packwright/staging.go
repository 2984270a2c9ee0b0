package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"packwright/events"
	"packwright/events/natslog"
	"packwright/prep"
	"packwright/workflow/engine"
)

// staging is a floor that is being put together inside the directory where it
// shall be: its parts get their names when all is there, floor.json last. Power
// that is lost before leaves no floor, and a directory restoring-… to be removed.
type staging struct {
	place
	to    place
	about founded
}

// stage begins a floor in an empty directory, made if missing.
func stage(dir string, about founded) (*staging, error) {
	to := place(dir)
	if about, err := to.founded(); err == nil {
		return nil, prep.Input(fmt.Sprintf("%s holds the floor %s already", dir, about.Floor), "choose another directory with --data; nothing is written over")
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, err
	}
	left, err := os.ReadDir(dir)
	if err != nil {
		return nil, err
	}
	if len(left) > 0 {
		name := left[0].Name()
		if strings.HasPrefix(name, "restoring-") {
			return nil, prep.Input(fmt.Sprintf("%s holds %s, left by a restoring that was broken off", dir, name), "remove it, then do this again")
		}
		return nil, prep.Input(fmt.Sprintf("%s is not empty: it holds %s", dir, name), "choose an empty directory with --data")
	}
	s := &staging{to: to, about: about}
	tmp, err := os.MkdirTemp(dir, "restoring-")
	s.place = place(tmp)
	return s, err
}

// fill appends frames to the store, which must be empty and is not synced until it
// is finished: until then it is nobody's. On a server elsewhere each is synced as
// its owner has set, and what was begun there stays when it fails.
func (s *staging) fill(d *desk, write func(events.Log) error) error {
	cfg := s.about.keeping(s.place)
	cfg.NoSync, cfg.Program, cfg.Logger = cfg.URL == "", "packwright restore", d.log
	log, err := natslog.Open(d.ctx, cfg)
	if err != nil {
		return err
	}
	last, err := log.Last(d.ctx)
	if err == nil && last > 0 {
		err = prep.Input(fmt.Sprintf("%s holds %d frames of a log of %s already", s.about.NATS.URL, last, s.about.Floor), "name a server without one; nothing is written over")
	}
	if err == nil {
		err = write(log)
	}
	return errors.Join(err, log.Close())
}

// describe writes policy and floor.json beside the store.
func (s *staging) describe(policy string) error {
	b := defaultPolicy
	if policy != "" {
		var err error
		if b, err = os.ReadFile(policy); err != nil {
			return err
		}
	}
	if err := writeWhole(s.policy(), b); err != nil {
		return err
	}
	if _, err := s.readPolicy(); err != nil {
		return err
	}
	b, err := json.Marshal(s.about)
	if err != nil {
		return err
	}
	return writeWhole(s.file("floor.json"), append(b, '\n'))
}

// notePutBack says in restored.json which head was put back.
func (s *staging) notePutBack(file string, head engine.Head) error {
	b, err := json.Marshal(putBack{time.Now().UTC().Truncate(time.Second), file, head})
	if err != nil {
		return err
	}
	return writeWhole(s.putBack(), append(b, '\n'))
}

// finish makes all of it durable and gives the parts their names.
func (s *staging) finish() error {
	if err := syncTree(string(s.place)); err != nil {
		return err
	}
	parts, err := os.ReadDir(string(s.place))
	if err != nil {
		return err
	}
	for _, p := range parts {
		if p.Name() != "floor.json" {
			if err := os.Rename(s.file(p.Name()), s.to.file(p.Name())); err != nil {
				return err
			}
		}
	}
	if err := syncDir(string(s.to)); err != nil {
		return err
	}
	if err := moveInto(s.file("floor.json"), s.to.file("floor.json")); err != nil {
		return err
	}
	return os.Remove(string(s.place))
}

// drop removes what was begun.
func (s *staging) drop() error { return os.RemoveAll(string(s.place)) }

// syncTree makes every file and name under a directory durable.
func syncTree(dir string) error {
	return filepath.WalkDir(dir, func(name string, e fs.DirEntry, err error) error {
		if err != nil || !e.IsDir() && !e.Type().IsRegular() {
			return err
		}
		return syncDir(name) // a file is synced the same way
	})
}
