package natslog

import (
	"crypto/rand"
	"errors"
	"fmt"
	"net"
	"net/url"
	"strconv"
	"time"

	"github.com/nats-io/nats-server/v2/server"
	"github.com/nats-io/nats.go"
	"github.com/rs/zerolog"
)

// The users of a listening server, beside the benches that have keys. Without a
// port there are none.
const (
	hubUser   = "hub"   // this process: everything
	benchUser = "bench" // other processes: ask, and hear the answer
)

// embedded is a NATS server inside this process.
type embedded struct {
	srv   *server.Server
	login nats.Option // for connections of this process; nil without users
	open  bool        // there is a port
	tls   bool        // it speaks TLS
	token string      // the benches' shared password; empty where there is none
}

// What others may take of a listening server: connections in all, and
// subscriptions of each; a message has at most the server's usual 1 MiB.
const (
	maxConn = 512
	maxSubs = 256
)

const startWait = 10 * time.Second // the store itself is read before this clock starts

// startServer starts the server on cfg.Dir, which this process has locked.
func startServer(cfg Config, fail func(error)) (*embedded, error) {
	e := &embedded{}
	opts := &server.Options{
		ServerName: "floor-" + cfg.Floor,
		DontListen: true,
		NoSigs:     true,

		JetStream:              true,
		StoreDir:               cfg.Dir,
		SyncAlways:             !cfg.NoSync,
		JetStreamMaxStore:      cfg.MaxStore,
		DisableJetStreamBanner: true,
	}
	if cfg.Listen != "" {
		if err := e.openPort(opts, cfg); err != nil {
			return nil, err
		}
	}
	srv, err := server.NewServer(opts)
	if err != nil {
		return nil, fmt.Errorf("start the store: %w", err)
	}
	srv.SetLoggerV2(serverLog{cfg.Logger, fail}, cfg.Logger.GetLevel() <= zerolog.TraceLevel, false, false)
	srv.Start()
	e.srv = srv
	if !srv.ReadyForConnections(startWait) || !srv.JetStreamEnabled() {
		e.stop()
		return nil, errors.New("start the store: the server did not come up")
	}
	return e, nil
}

// openPort gives the server its address and its two users.
func (e *embedded) openPort(opts *server.Options, cfg Config) error {
	host, port, err := net.SplitHostPort(cfg.Listen)
	if err != nil {
		return err
	}
	number, err := strconv.Atoi(port)
	if err != nil {
		return fmt.Errorf("listening address %s: the port must be a number", cfg.Listen)
	}
	if number == 0 {
		number = server.RANDOM_PORT
	}
	opts.DontListen, opts.Host, opts.Port = false, host, number
	e.open, e.tls = true, cfg.TLS != nil
	opts.TLS, opts.TLSConfig = e.tls, cfg.TLS
	opts.MaxConn, opts.MaxSubs = maxConn, maxSubs
	hub := rand.Text()
	e.login = nats.UserInfo(hubUser, hub)
	opts.Users = []*server.User{{Username: hubUser, Password: hub}}
	if isLoopback(host) {
		e.token = orDefault(cfg.Token, rand.Text())
		opts.Users = append(opts.Users, &server.User{Username: benchUser, Password: e.token, Permissions: benchMay(cfg.Floor)})
	}
	for station, key := range cfg.Keys {
		opts.Nkeys = append(opts.Nkeys, &server.NkeyUser{Nkey: key, Permissions: stationMay(cfg.Floor, station)})
	}
	return nil
}

// stationMay lets one bench ask on its own lane and hear its own answers.
func stationMay(floor, station string) *server.Permissions {
	return &server.Permissions{
		Publish:   &server.SubjectPermission{Allow: []string{"floor." + floor + ".do." + station}},
		Subscribe: &server.SubjectPermission{Allow: []string{InboxOf(station) + ".>"}},
	}
}

// InboxOf is where a bench with a key of its own hears its answers.
func InboxOf(station string) string { return "_INBOX." + station }

// benchMay lets a bench ask and hear the answer: no frames, no events, no
// stream's affairs. Those without a key of their own share this user, which is
// good on this machine alone, and can hear each other's answers.
func benchMay(floor string) *server.Permissions {
	return &server.Permissions{
		Publish:   &server.SubjectPermission{Allow: []string{"floor." + floor + ".do.>"}},
		Subscribe: &server.SubjectPermission{Allow: []string{"_INBOX.>"}},
	}
}

// benchURL is where and how benches connect, "" without a port.
func (e *embedded) benchURL() string {
	if !e.open {
		return ""
	}
	u := url.URL{Scheme: "nats", Host: e.srv.Addr().String()}
	if e.tls {
		u.Scheme = "tls"
	}
	if e.token != "" {
		u.User = url.UserPassword(benchUser, e.token)
	}
	return u.String()
}

// dial gives the options that connect from inside this process.
func (e *embedded) dial() []nats.Option {
	opts := []nats.Option{nats.InProcessServer(e.srv)}
	if e.login != nil {
		opts = append(opts, e.login)
	}
	return opts
}

func (e *embedded) stop() {
	e.srv.Shutdown()
	e.srv.WaitForShutdown()
}
