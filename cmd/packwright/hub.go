package main

import (
	"context"
	"crypto/tls"
	"encoding/json"
	"errors"
	"fmt"
	"net"
	"os"
	"sync"
	"time"

	"github.com/rs/zerolog"

	"packwright/cmd/packwright/door"
	"packwright/cmd/packwright/entry"
	"packwright/cmd/packwright/printing"
	"packwright/events"
	"packwright/events/natslog"
	"packwright/prep"
	"packwright/workflow"
	"packwright/workflow/engine"
)

// hub is a floor opened in this process: its log, and the one writer of it.
type hub struct {
	place   place
	about   founded
	policy  *workflow.Policy
	log     *natslog.Log
	writer  *engine.Engine
	events  *door.Republisher // nil for a command's own hub
	books   *books            // nil for a command's own hub
	meters  *meters           // nil for a command's own hub
	entry   *entry.Book       // who may come in by HTTP; nil for a command's own hub
	benches *scanners         // the benches' reading machines; nil for a command's own hub
	printer *printing.Printer // for the pages; nil: none
	heads   *signing          // who signs the log's heads; nil until a floor's door is opened
	begun   time.Time
	side    undecided
}

// opening is how a hub is opened.
type opening struct {
	Program string           // what a refused second process reads about this one
	Bus     string           // loopback address of the bus; empty: no port
	Token   string           // the benches' shared password there
	TLS     *tls.Config      // what the bus speaks; nil: in the clear, on this machine alone
	Meters  *meters          // what counts its appends; may be nil
	Publish bool             // publish durable events on the bus
	Now     func() time.Time // the writer's clock; nil: the machine's
	// What tests put in the way: how the store is kept, the log that the writer
	// appends to, what it hears of the disk's room.
	Store func(*natslog.Config)
	Log   func(events.Log) events.Log
	Free  func() (free, total uint64, err error)
}

// openHub opens the floor in a directory. Errors: errNoFloor, *prep.InputError
// (the policy), events.ErrLocked, events.ErrCorrupt.
func openHub(ctx context.Context, at place, log zerolog.Logger, how opening) (*hub, error) {
	about, err := at.founded()
	if err != nil {
		return nil, err
	}
	return openNamed(ctx, at, about, log, how)
}

// openNamed opens a floor whose floor.json may not be written yet.
func openNamed(ctx context.Context, at place, about founded, log zerolog.Logger, how opening) (h *hub, err error) {
	if how.Now == nil {
		how.Now = time.Now
	}
	h = &hub{place: at, about: about, begun: time.Now(), side: undecided{path: at.undecided(), log: log}}
	defer func() {
		if err != nil {
			err = errors.Join(err, h.Close())
		}
	}()
	if h.policy, err = at.readPolicy(); err != nil {
		return h, err
	}
	cfg := about.keeping(at)
	if cfg.URL != "" && how.Bus != "" {
		return h, prep.Input("this floor's log is kept at "+cfg.URL+", which is its bus too", "leave --bus out; benches connect there")
	}
	cfg.Listen, cfg.Token, cfg.Program, cfg.Logger = how.Bus, how.Token, how.Program, log
	if how.Bus != "" {
		cfg.TLS = how.TLS
		if cfg.Keys, err = at.readBenchKeys(); err != nil {
			return h, err
		}
		cfg.Token = onlyHere(how.Bus, how.Token)
	}
	if how.Store != nil {
		how.Store(&cfg)
	}
	h.log, err = natslog.Open(ctx, cfg)
	if err != nil {
		return h, err
	}
	if err := os.MkdirAll(at.snapshot(), 0o700); err != nil {
		return h, err
	}
	var durable func([]events.Event)
	if how.Publish {
		h.events = door.NewRepublisher(h.log.Conn(), about.Floor, log)
		durable = h.events.Durable
	}
	frames := events.Log(h.log)
	if h.meters = how.Meters; h.meters != nil {
		frames = metered{h.log, h.meters}
	}
	if how.Log != nil {
		frames = how.Log(frames)
	}
	if how.Free == nil {
		how.Free = h.log.Free
	}
	h.writer, err = engine.Open(ctx, engine.Config{Log: frames, Floor: about.Floor, Policy: h.policy, Now: how.Now, Snapshot: at.snapshot(),
		Logger: log, Durable: durable, Panicked: h.side.keep, Free: how.Free})
	return h, err
}

// onlyHere gives the shared password where there is one: on a loopback address.
func onlyHere(address, token string) string {
	if host, _, err := net.SplitHostPort(address); err == nil && net.ParseIP(host).IsLoopback() {
		return token
	}
	return ""
}

// Close finishes what is decided, writes a snapshot and lets go of the
// directory. It may be called on a hub that was only half opened.
func (h *hub) Close() error {
	var errs []error
	if h.benches != nil {
		errs = append(errs, h.benches.Close())
	}
	if h.writer != nil {
		errs = append(errs, h.writer.Close())
	}
	if h.events != nil {
		errs = append(errs, h.events.Close())
	}
	if h.log != nil {
		errs = append(errs, h.log.Close())
	}
	return errors.Join(errs...)
}

// undecided keeps commands that made the program panic, one JSON object a line.
type undecided struct {
	mu   sync.Mutex
	path string
	log  zerolog.Logger
}

func (u *undecided) keep(c workflow.Command, what any, stack []byte) {
	u.mu.Lock()
	defer u.mu.Unlock()
	line, err := json.Marshal(map[string]any{"at": time.Now(), "command": c, "panic": fmt.Sprint(what), "stack": string(stack)})
	if err == nil {
		err = appendLine(u.path, line)
	}
	if err != nil {
		u.log.Error().Err(err).Str("command", c.ID).Msg("the command that could not be decided was not kept aside")
	}
}

func appendLine(path string, line []byte) error {
	f, err := os.OpenFile(path, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	_, err = f.Write(append(line, '\n'))
	return errors.Join(err, f.Sync(), f.Close())
}

// opened is a floor reached by opening its directory: closing it closes the hub.
type opened struct {
	*signing
	hub *hub
}

func (o opened) Close() error { return o.hub.Close() }

// reach gives the floor that the settings name: the hub at --url, or the one in
// --data, opened for this command.
func (d *desk) reach() (door.Floor, error) {
	if d.URL != "" {
		web, err := d.web()
		if err != nil {
			return nil, err
		}
		return door.NewWitness(web), nil
	}
	h, err := d.open("packwright command")
	if err != nil {
		return nil, err
	}
	return opened{h.signing(d.log), h}, nil
}

// open opens the directory of --data for this command.
func (d *desk) open(program string) (*hub, error) {
	return openHub(d.ctx, place(d.Data), d.log.Level(max(d.log.GetLevel(), zerolog.WarnLevel)), opening{Program: program})
}
