package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net"
	"os"
	"time"

	"packwright/events"
	"packwright/events/natslog"
)

// doctorCommand looks at everything a floor stands on, and says in a line each
// how it is and what to do. Beside a running hub it asks the hub; a floor that
// is closed is copied while its lock is held, and the copy is opened: the
// floor's own store never is.
type doctorCommand struct {
	Listen string `env:"PACKWRIGHT_LISTEN" default:"127.0.0.1:8420" placeholder:"ADDR" help:"Where serve would listen (${default}): whether that is free."`

	now func() time.Time // tests
}

// Grades of a finding. Only what is wrong makes the command fail.
const (
	gradeOK    = "ok"
	gradeNote  = "note"
	gradeWrong = "WRONG"
)

// finding is one thing that was looked at.
type finding struct {
	What  string `json:"what"`
	Grade string `json:"grade"`
	Says  string `json:"says"`
	Do    string `json:"do,omitempty"`
	err   error
}

// findings are what the doctor tells.
type findings []finding

// check is one thing to look at: what it is called, and what is found.
type check struct {
	what string
	look func(*patient) finding
}

// patient is a floor under examination.
type patient struct {
	d      *desk
	at     place
	now    time.Time
	listen string

	about founded
	url   string  // of a hub that runs; empty: the floor is closed
	held  error   // why the store could not be held
	hub   *health // what it tells of itself
	copy  *chart  // of a closed floor
	stop  bool    // the rest cannot be looked at
}

// checks are looked at in this order; some use what those before have found.
var checks = []check{
	{"floor", (*patient).floor},
	{"directory", (*patient).directory},
	{"disk", (*patient).disk},
	{"hub", (*patient).runs},
	{"port", (*patient).port},
	{"key", (*patient).key},
	{"store", (*patient).store},
	{"heads beside the log", (*patient).heads},
	{"digests", (*patient).digests},
	{"clock", (*patient).clock},
	{"scales", (*patient).scales},
	{"backup", (*patient).backedUp},
}

// Run examines and tells. Exit code 4 when the log is not believable, 1 when
// anything else is wrong.
func (c *doctorCommand) Run(d *desk) error {
	p := &patient{d: d, at: place(d.Data), now: time.Now(), listen: c.Listen}
	if c.now != nil {
		p.now = c.now()
	}
	defer p.discharge()
	var out findings
	for _, k := range checks {
		f := k.look(p)
		if f.What = k.what; f.Grade != "" {
			out = append(out, f)
		}
		if p.stop {
			break
		}
	}
	return errors.Join(d.say(out), out.err())
}

// err says how many things are wrong, and carries the worst of their errors.
func (l findings) err() error {
	n, worst := 0, error(nil)
	for _, f := range l {
		if f.Grade == gradeWrong {
			n++
			worst = worse(worst, f.err)
		}
	}
	switch {
	case n == 0:
		return nil
	case errors.Is(worst, events.ErrCorrupt):
		return fmt.Errorf("%w: see what is wrong above", events.ErrCorrupt)
	}
	return fmt.Errorf("%s wrong", counted(n, "thing is", "things are"))
}

func counted(n int, one, more string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, more)
}

// Text tells a line each, and below it what to do.
func (l findings) Text(w io.Writer) error {
	for _, f := range l {
		if _, err := fmt.Fprintf(w, "%-5s %s: %s\n", f.Grade, f.What, f.Says); err != nil {
			return err
		}
		if f.Do != "" {
			fmt.Fprintf(w, "      %s\n", f.Do)
		}
	}
	return nil
}

func well(format string, v ...any) finding {
	return finding{Grade: gradeOK, Says: fmt.Sprintf(format, v...)}
}

func remark(do, format string, v ...any) finding {
	return finding{Grade: gradeNote, Says: fmt.Sprintf(format, v...), Do: do}
}

// ill is what is wrong. The error's own advice is given when there is no other.
func ill(err error, do string) finding {
	if said := sayings(err); do == "" && len(said) > 0 {
		do = said[0].Next
	}
	return finding{Grade: gradeWrong, Says: err.Error(), Do: do, err: err}
}

// floor: is there one, and can its policy be read?
func (p *patient) floor() finding {
	if p.d.URL != "" {
		return finding{}
	}
	var err error
	if p.about, err = p.at.founded(); err == nil {
		_, err = p.at.readPolicy()
	}
	if err != nil {
		p.stop = true
		return ill(err, "")
	}
	return well("%s in %s", p.about.Floor, p.at)
}

// directory: can files be written there?
func (p *patient) directory() finding {
	if p.d.URL != "" {
		return finding{}
	}
	for _, dir := range []string{string(p.at), p.at.snapshot()} {
		if _, err := os.Stat(dir); errors.Is(err, fs.ErrNotExist) {
			continue
		}
		f, err := os.CreateTemp(dir, "doctor.*")
		if err != nil {
			return ill(fmt.Errorf("nothing can be written there: %w", err), "Mount the disk for writing, or run it as the user whose directory it is. Nothing is kept until then.")
		}
		if err := errors.Join(f.Close(), os.Remove(f.Name())); err != nil {
			return ill(err, "")
		}
	}
	return well("can be written")
}

// port: can serve have its address?
func (p *patient) port() finding {
	if p.hub != nil || p.url != "" || p.d.URL != "" {
		return finding{}
	}
	l, err := net.Listen("tcp", p.listen)
	if err != nil {
		return ill(fmt.Errorf("serve cannot listen there: %w", err), "End the program that has the port, or choose another with --listen.")
	}
	if err := l.Close(); err != nil {
		return ill(err, "")
	}
	return well("%s is free", p.listen)
}

// runs: does a hub hold the store, and does it answer?
func (p *patient) runs() finding {
	if p.url = p.d.URL; p.url == "" && p.about.NATS == nil {
		held, err := natslog.Hold(p.at.store(), "packwright doctor")
		if err == nil {
			_ = held.Close()
			return well("none runs; the floor is closed")
		}
		if p.held = err; !errors.Is(err, events.ErrLocked) {
			return finding{} // the store's check tells
		}
		p.url = p.at.hubURL()
	} else if p.url == "" {
		if _, err := os.Stat(p.at.hubURL()); err != nil {
			return well("none runs here; the log is kept at %s", p.about.NATS.URL)
		}
		p.url = p.at.hubURL()
	}
	return p.askHub()
}
