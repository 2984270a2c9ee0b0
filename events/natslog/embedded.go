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

// The two users of a listening server. Without a port there are none.
const (
	hubUser   = "hub"   // this process: everything
	benchUser = "bench" // other processes: ask, and hear the answer
)

// embedded is a NATS server inside this process.
type embedded struct {
	srv   *server.Server
	login nats.Option // for connections of this process; nil without users
	token string      // the benches' password; empty without a port
}

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
	e.token = orDefault(cfg.Token, rand.Text())
	hub := rand.Text()
	e.login = nats.UserInfo(hubUser, hub)
	opts.Users = []*server.User{
		{Username: hubUser, Password: hub},
		{Username: benchUser, Password: e.token, Permissions: benchMay(cfg.Floor)},
	}
	return nil
}

// benchMay lets a bench ask and hear the answer: no frames, no events, no
// stream's affairs. Benches share one user and can hear each other's answers;
// a key of its own for each bench closes that.
func benchMay(floor string) *server.Permissions {
	return &server.Permissions{
		Publish:   &server.SubjectPermission{Allow: []string{"floor." + floor + ".do.>"}},
		Subscribe: &server.SubjectPermission{Allow: []string{"_INBOX.>"}},
	}
}

// benchURL is where and how benches connect, "" without a port.
func (e *embedded) benchURL() string {
	if e.token == "" {
		return ""
	}
	u := url.URL{Scheme: "nats", User: url.UserPassword(benchUser, e.token), Host: e.srv.Addr().String()}
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
