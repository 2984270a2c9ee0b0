package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"net"
	"os"
	"path/filepath"
	"slices"
	"sync/atomic"
	"time"

	"github.com/alecthomas/kong"
	"github.com/rs/zerolog"

	"packwright/audit/follow"
	"packwright/cmd/packwright/door"
	"packwright/events"
	"packwright/events/natslog"
	"packwright/prep"
	"packwright/testdata/demo"
	"packwright/workflow"
	"packwright/workflow/engine"
)

// demoCommand plays the day of Lantern Yard through the real engine into a real
// store: nothing writes an event, every command passes its gates. The clock is
// the day's. Afterwards the floor answers over HTTP until it is interrupted, on
// a terminal or not; for scripts there is --check.
type demoCommand struct {
	Check  bool   `help:"Compare the day with its known answers, a line each, and end."`
	Until  string `default:"17:41" placeholder:"TIME" help:"Stop the day there and let people go on (${default}); end plays all of it."`
	Listen string `default:"127.0.0.1:0" placeholder:"ADDR" help:"Loopback address to be asked at (${default}); port 0 picks one."`
	withPrinter
}

// Run plays the day in the directory that --data names on the command line,
// else in one that is removed at the end.
func (c *demoCommand) Run(d *desk, line *kong.Context) (err error) {
	var l net.Listener
	if !c.Check {
		if l, err = listenLoopback(c.Listen); err != nil {
			return err
		}
		defer l.Close() // closed already when it served
	}
	dir, remove, err := demoDir(d, line)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, remove()) }()
	f, err := openDemo(d, dir, "")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	began := time.Now()
	day := demo.Day()
	if !c.Check {
		if day, err = c.cut(day); err != nil {
			return err
		}
	}
	if err := f.play(d, day); err != nil {
		return err
	}
	if c.Check {
		return f.check(d, began)
	}
	f.printer = c.printer()
	return f.stay(d, l)
}

// cut gives the acts of the day until the moment it is to stop at.
func (c *demoCommand) cut(day []demo.Act) ([]demo.Act, error) {
	if c.Until == "end" {
		return day, nil
	}
	until, err := parseMoment(c.Until, events.At(demo.Until(day, day[0].Recorded)[0].Recorded))
	if err != nil {
		return nil, err
	}
	return demo.Until(day, until.Std()), nil
}

// demoDir gives the directory to play in.
func demoDir(d *desk, line *kong.Context) (dir string, remove func() error, err error) {
	for _, p := range line.Path {
		if p.Flag != nil && p.Flag.Name == "data" {
			at := place(d.Data)
			if err := at.vacant(); err != nil {
				return "", nil, err
			}
			return d.Data, func() error { return nil }, os.MkdirAll(d.Data, 0o700)
		}
	}
	over, err := os.MkdirTemp("", "packwright-demo-")
	if err != nil {
		return "", nil, err
	}
	dir = filepath.Join(over, "floor") // its key lies beside it
	return dir, func() error { return os.RemoveAll(over) }, os.Mkdir(dir, 0o700)
}

// demoKey puts the demo's key beside the directory of its floor; nothing is
// written into the user's configuration.
func demoKey(at place) (*headKey, error) {
	file := filepath.Clean(string(at)) + ".key"
	if k, err := readKey(file); err == nil && k.Public == demo.PublicKey {
		return k, nil // of an earlier day there
	}
	return keepKey(demo.Key, file, at)
}

// demoFloor is the floor of the day: a hub whose clock is the day's.
type demoFloor struct {
	*hub
	clock demo.Clock
	ended atomic.Pointer[time.Time] // when the day was played; the clock goes on from there
	stop  context.CancelFunc
	read  chan struct{}
	light *light
}

// now is the day's clock; once the day is played it runs as clocks do.
func (f *demoFloor) now() time.Time {
	if end := f.ended.Load(); end != nil {
		return f.clock.Now().Add(time.Since(*end))
	}
	return f.clock.Now()
}

// openDemo founds the directory of the floor and opens its hub, with the bus on
// a loopback address when one is given.
func openDemo(d *desk, dir, bus string) (*demoFloor, error) {
	at := place(dir)
	key, err := demoKey(at)
	if err != nil {
		return nil, err
	}
	about := founded{Format: foundedFormat, Floor: demo.Floor, Currency: prep.Currency{Code: demo.Currency, Digits: 2}, Key: key.Public, KeyFile: key.File}
	b, err := json.Marshal(about)
	if err != nil {
		return nil, err
	}
	if err := errors.Join(writeWhole(at.policy(), demo.Policy), writeWhole(at.file("floor.json"), append(b, '\n')), os.MkdirAll(at.snapshot(), 0o700)); err != nil {
		return nil, err
	}
	f := &demoFloor{hub: &hub{place: at, about: about, begun: time.Now(), side: undecided{path: at.undecided(), log: d.log}}, light: newLight(), read: make(chan struct{})}
	if err := f.open(d.ctx, bus, d.log.Level(max(d.log.GetLevel(), zerolog.WarnLevel))); err != nil {
		return nil, errors.Join(err, f.hub.Close())
	}
	ctx, stop := context.WithCancel(context.WithoutCancel(d.ctx))
	f.stop = stop
	go func() {
		defer close(f.read)
		f.books.run(ctx, f.log, f.light)
	}()
	return f, nil
}

func (f *demoFloor) open(ctx context.Context, bus string, log zerolog.Logger) (err error) {
	if f.policy, err = f.place.readPolicy(); err != nil {
		return err
	}
	if f.log, err = natslog.Open(ctx, natslog.Config{Floor: demo.Floor, Dir: f.place.store(), Program: "packwright demo", Listen: bus, Logger: log}); err != nil {
		return err
	}
	f.books = &books{Follower: follow.New(), file: f.place.books(), log: log, moved: make(chan struct{})}
	f.writer, err = engine.Open(ctx, engine.Config{Log: f.log, Floor: demo.Floor, Policy: f.policy, Now: f.now, Snapshot: f.place.snapshot(),
		Logger: log, Panicked: f.side.keep, Free: f.log.Free})
	return err
}

// Close ends the auditor, the writer and the log.
func (f *demoFloor) Close() error {
	f.stop()
	<-f.read
	return f.hub.Close()
}

// play gives every command of the day, one after another.
func (f *demoFloor) play(d *desk, day []demo.Act) error {
	step, finish := d.progress(len(day), "the day")
	defer finish()
	if err := demo.Play(d.ctx, day, &f.clock, demoDoor{f, step}); err != nil {
		return fmt.Errorf("the day cannot be played: %w", err)
	}
	end := time.Now()
	f.ended.Store(&end)
	if err := f.books.reach(d.ctx, f.writer.Head().Frame); err != nil {
		return err
	}
	return f.light.why()
}

// demoDoor is the day's way into the writer.
type demoDoor struct {
	f    *demoFloor
	step func()
}

// Do gives one command.
func (x demoDoor) Do(ctx context.Context, c workflow.Command) (workflow.Outcome, workflow.Code, error) {
	x.step()
	a, err := x.f.writer.Do(ctx, c)
	if err != nil || a.Refusal == nil {
		return a.Outcome, "", err
	}
	return a.Outcome, a.Refusal.Code, nil
}

// Head gives the last event and the root over all.
func (x demoDoor) Head(context.Context) (demo.Head, error) {
	return headOf(x.f.writer.Head()), nil
}

func headOf(h engine.Head) demo.Head {
	return demo.Head{Seq: events.Seq{Frame: h.Frame}, Size: h.Size, Root: h.Root}
}

// stay shows the board and answers questions until it is asked to end.
func (f *demoFloor) stay(d *desk, l net.Listener) error {
	web, err := f.openWeb(lit{f.signing(d.log), f.light}, f.light, f.now, "", d.log)
	if err != nil {
		return err
	}
	if err := f.letIn(d.ctx); err != nil {
		return err
	}
	if err := f.place.tellDoors(f.houseURL(doorway{listener: l}), ""); err != nil {
		return err
	}
	defer os.Remove(f.place.hubURL())
	if err := f.showDay(d, l); err != nil {
		return err
	}
	return errors.Join(door.Serve(d.ctx, l, web.Handler(), grace), f.light.why())
}

// showDay prints the board in the day's worst minute and at its end, and how to ask.
func (f *demoFloor) showDay(d *desk, l net.Listener) error {
	a := &auditor{log: f.log, reader: f.books.Follower}
	b, err := boardQuestion.by(d.ctx, a, asked{})
	if err == nil {
		err = d.say(b)
	}
	if err != nil {
		return err
	}
	if d.JSON {
		return json.NewEncoder(d.out).Encode(map[string]string{"url": "http://" + l.Addr().String(), "house": f.place.hubURL(), "pin": demoPIN})
	}
	return f.howToAsk(d.out, "http://"+l.Addr().String())
}

// demoPIN opens for every badge of the demo.
const demoPIN = "2580"

// letIn gives every badge of the day the demo's PIN.
func (f *demoFloor) letIn(ctx context.Context) error {
	var badges []string
	err := f.writer.View(ctx, func(w *workflow.Floor) { badges = slices.Sorted(maps.Keys(w.Badges)) })
	for _, b := range badges {
		err = errors.Join(err, f.entry.SetPIN(b, demoPIN, false))
	}
	return err
}

func (f *demoFloor) howToAsk(w io.Writer, address string) error {
	me := filepath.Base(os.Args[0])
	_, err := fmt.Fprintf(w, `
The day is played: %d events, and its clock goes on. Open

  %[3]s

and sign in as maren (supervisor), odile (owner), ife, tobi, sunniva (packers) or
quill (a client); the PIN of all is %[5]s. A bench joins at %[3]s/join with a code
that maren asks for at the board. Or ask from another terminal:
  %[2]s why C-07 --url %[4]s
  %[2]s trace M-0019 --url %[4]s
  %[2]s siblings M-0019 --url %[4]s
Interrupt it (Ctrl-C) to end; then the floor is gone, unless --data names a directory.
`, f.writer.Head().Size, me, address, f.place.hubURL(), demoPIN)
	return err
}
