package main

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"net/url"
	"os"
	"strings"
	"sync"
	"time"

	"packwright/cmd/packwright/door"
	"packwright/events"
	"packwright/prep"
)

// serveCommand runs a hub until it is asked to end.
//
//	bench processes → bus door ┐
//	browsers, scripts → /do    ┴→ noted → watch → light → engine → log → answers
//	                                                 ↑              ├→ events on the bus
//	                                                 └── red ── auditor's books
type serveCommand struct {
	Listen string   `env:"PACKWRIGHT_LISTEN" default:"127.0.0.1:8420" placeholder:"ADDR" help:"Address of the HTTP door (${default}); port 0 picks one. Loopback, but for --lan."`
	LAN    bool     `name:"lan" env:"PACKWRIGHT_LAN" help:"Let --listen be an address that other machines reach. Badges prove themselves by PIN, benches join by a code."`
	Name   []string `placeholder:"NAME" help:"A name of this machine that browsers may ask for, beside its addresses."`
	Bus    string   `env:"PACKWRIGHT_BUS_LISTEN" placeholder:"ADDR" help:"Address of the bus for bench processes; without it no port is opened. Loopback, but with a certificate and a key for each bench (bench-key). How to connect is written to bench.url in the floor's directory."`
	Pprof  string   `placeholder:"ADDR" help:"Loopback address of a listener for profiles (go tool pprof); without it there is none."`
	Unit   bool     `name:"systemd" help:"Print a systemd unit that runs this hub with these settings, and end."`
	withPrinter
	certified
}

// grace is how long a hub that ends waits for what is under way.
const grace = 20 * time.Second

func (c *serveCommand) Run(d *desk) error {
	if c.Unit {
		return c.unit(d)
	}
	profiles, err := profile(c.Pprof)
	if err != nil {
		return err
	}
	return errors.Join(c.run(d), profiles.Close())
}

func (c *serveCommand) run(d *desk) error {
	keepHeapSmall()
	secure, err := c.config()
	if err != nil {
		return err
	}
	listener, err := c.listen()
	if err != nil {
		return err
	}
	listener = door.Limit(listener)
	if secure != nil {
		listener = tls.NewListener(listener, secure)
	}
	way := doorway{listener, c.Name, secure != nil}
	at := place(d.Data)
	h, err := openHub(d.ctx, at, d.log, opening{Program: "packwright serve at " + way.scheme() + "://" + listener.Addr().String(), Bus: c.Bus, Token: at.oldToken(c.Bus), TLS: secure, Publish: true, Meters: newMeters()})
	if err != nil {
		return errors.Join(err, listener.Close())
	}
	h.printer = c.printer()
	light := newLight()
	err = errors.Join(h.serve(d, way, light), h.Close())
	if why := light.why(); !errors.Is(err, why) {
		err = errors.Join(err, why)
	}
	return err
}

// doorway is how a hub is reached over HTTP.
type doorway struct {
	listener net.Listener
	names    []string // of this machine, beside its addresses
	secure   bool     // it speaks TLS
}

func (o doorway) scheme() string {
	if o.secure {
		return "https"
	}
	return "http"
}

// serve is the wiring. It returns when the hub was asked to end, or cannot go on.
func (h *hub) serve(d *desk, way doorway, light *light) error {
	var err error
	listener := way.listener
	if h.books, err = openBooks(d.ctx, h.place.books(), h.log, d.log); err != nil {
		return errors.Join(err, listener.Close())
	}
	heads := h.signing(d.log)
	watch := door.NewWatch(lit{heads, light}, time.Now)
	if h.meters == nil {
		h.meters = newMeters()
	}
	h.meters.watch(h, light)
	doors := noted{watch, d.log, h.meters}
	bus, err := door.ServeBus(h.log.Conn(), h.about.Floor, doors, d.log)
	if err != nil {
		return errors.Join(err, listener.Close())
	}
	web, err := h.openWeb(doors, light, time.Now, "", d.log)
	if err != nil {
		return errors.Join(err, bus.Close(), listener.Close())
	}
	web.Names = way.names
	web.Routes = append(web.Routes, h.meters.route())
	if err := h.place.tellDoors(h.houseURL(way), h.log.BenchURL()); err != nil {
		return errors.Join(err, bus.Close(), listener.Close())
	}
	defer os.Remove(h.place.hubURL())
	ctx, cancel := context.WithCancel(d.ctx)
	defer cancel()
	var beside sync.WaitGroup
	beside.Go(func() { newClockwork(heads, watch, d.log).run(ctx) })
	beside.Go(func() { h.watchWriter(ctx, light, cancel) })
	beside.Go(func() { h.books.run(ctx, h.log, light) })
	notifySystemd("READY=1")
	context.AfterFunc(ctx, func() { notifySystemd("STOPPING=1") })
	d.log.Info().Str("floor", h.about.Floor).Str("at", way.scheme()+"://"+listener.Addr().String()).Uint64("frame", h.writer.Head().Frame).Msg("the hub is open")
	err = door.Serve(ctx, listener, web.Handler(), grace)
	cancel()
	err = errors.Join(err, bus.Close())
	beside.Wait()
	h.books.save()
	d.log.Info().Uint64("frame", h.writer.Head().Frame).Msg("the hub is closed")
	return err
}

// storeLook is how often a hub compares its stream with what it must be.
const storeLook = 5 * time.Second

// watchWriter turns the light red when the writer has ended by itself, or when
// somebody has changed the stream. A log that is not believable keeps the hub
// up, to say so; after all else it ends.
func (h *hub) watchWriter(ctx context.Context, light *light, end func()) {
	t := time.NewTicker(200 * time.Millisecond)
	defer t.Stop()
	for looked := time.Now(); ; {
		select {
		case <-ctx.Done():
			return
		case <-t.C:
		}
		if time.Since(looked) >= storeLook {
			looked = time.Now()
			if err := h.log.Check(ctx); errors.Is(err, events.ErrCorrupt) {
				light.turn(err)
			}
		}
		if err := h.writer.Err(); err != nil {
			light.turn(err)
			if !errors.Is(err, events.ErrCorrupt) {
				end()
			}
			return
		}
	}
}

// listen opens the HTTP door: to this machine alone, unless it is told otherwise.
func (c *serveCommand) listen() (net.Listener, error) {
	if !c.LAN {
		return listenLoopback(c.Listen)
	}
	l, err := net.Listen("tcp", c.Listen)
	if err != nil {
		return nil, fmt.Errorf("open the HTTP door: %w", err)
	}
	return l, nil
}

// listenLoopback opens a port that only this machine can reach.
func listenLoopback(address string) (net.Listener, error) { return listenHere("--listen", address) }

// listenHere is listenLoopback for the address of a setting.
func listenHere(setting, address string) (net.Listener, error) {
	to, err := netip.ParseAddrPort(strings.Replace(address, "localhost:", "127.0.0.1:", 1))
	if err != nil || !to.Addr().IsLoopback() {
		return nil, prep.Input(setting+" "+address+" is no loopback address", "write one like 127.0.0.1:8420; serve --lan opens others for --listen")
	}
	l, err := net.Listen("tcp", to.String())
	if err != nil {
		return nil, fmt.Errorf("open %s: %w", setting, err)
	}
	return l, nil
}

// houseURL is how this machine's own commands reach the hub: the password stands
// in the address, in a file that only its owner reads.
func (h *hub) houseURL(o doorway) string {
	u := url.URL{Scheme: o.scheme(), User: url.UserPassword("house", h.entry.House()), Host: o.listener.Addr().String()}
	if o.secure && len(o.names) > 0 { // the certificate is for a name, rarely for an address
		_, port, _ := net.SplitHostPort(u.Host)
		u.Host = net.JoinHostPort(o.names[0], port)
	}
	return u.String()
}

// tellDoors writes where the hub and, when the bus has a port, its benches' door
// are. The first file is there as long as the hub is.
func (p place) tellDoors(hub, bus string) error {
	if bus != "" {
		if err := writeWhole(p.benchURL(), []byte(bus+"\n")); err != nil {
			return err
		}
	}
	return writeWhole(p.hubURL(), []byte(hub+"\n"))
}

// oldToken gives the benches' password of the last start, so that it stays.
func (p place) oldToken(bus string) string {
	if bus == "" {
		return ""
	}
	b, err := os.ReadFile(p.benchURL())
	if err != nil {
		return ""
	}
	u, err := url.Parse(strings.TrimSpace(string(b)))
	if err != nil || u.User == nil {
		return ""
	}
	token, _ := u.User.Password()
	return token
}
