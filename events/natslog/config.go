package natslog

import (
	"crypto/tls"
	"errors"
	"fmt"
	"net"
	"os"
	"path/filepath"
	"regexp"
	"time"

	"github.com/nats-io/nkeys"
	"github.com/rs/zerolog"
)

// Config says where a floor's log is and how to reach it. Exactly one of Dir
// and URL is set.
type Config struct {
	// Floor is the floor's id: 1 to 32 letters, digits, '-' or '_'.
	Floor string

	// Dir holds the embedded store. It is made if missing, and locked.
	Dir string
	// NoSync leaves out the fsync of each append: what a power failure takes
	// then has been answered. For benchmarks and throw-away floors only.
	NoSync bool
	// NoDirSync leaves out the fsync of directories, as the server does. It is
	// there for the test that cuts the power, which must then find a loss.
	NoDirSync bool
	// MaxStore is the most the store may hold, in bytes; 0 for no limit but
	// the disk's.
	MaxStore int64
	// Listen, if set, opens the bus on this address, loopback unless TLS is set ("127.0.0.1:4222";
	// port 0 picks one) for benches in other processes. Default: no port.
	Listen string
	// Token is the benches' shared password on a loopback address; empty makes
	// one. Elsewhere there is none. See [Log.BenchURL].
	Token string
	// Keys are the benches' public keys by station: each may use its own lane
	// alone, and nobody hears another's answers.
	Keys map[string]string
	// TLS, if set, is what connections must speak. Then, with keys and without
	// the shared password, Listen may be any address.
	TLS *tls.Config
	// Program is what a refused second process reads about this one; default
	// the name of the running program.
	Program string

	// URL is an existing NATS with JetStream, "nats://host:port".
	URL string
	// Credentials names a file with a user's JWT and key, NKeySeed one with a
	// bare key's seed. At most one is set, and only with URL.
	Credentials, NKeySeed string

	// AckWait is how long one send waits for its answer before the same frame
	// is sent again; default 2 s.
	AckWait time.Duration
	// Patience is how long Append, Scan and Follow go on without any progress
	// before they answer ErrUnreachable; default 30 s. The caller's context may
	// end them sooner.
	Patience time.Duration

	// Logger hears the embedded server at debug level. The zero value is silent.
	Logger zerolog.Logger
}

const noLimit = int64(1) << 50 // bytes; beyond any disk a floor will see

var floorID = regexp.MustCompile(`^[A-Za-z0-9_-]{1,32}$`)

// filled gives the configuration with its defaults, or says what is wrong with it.
func (c Config) filled() (Config, error) {
	if err := c.check(); err != nil {
		return c, fmt.Errorf("log settings: %w", err)
	}
	c.AckWait = orDefault(c.AckWait, 2*time.Second)
	c.Patience = orDefault(c.Patience, 30*time.Second)
	c.MaxStore = orDefault(c.MaxStore, noLimit)
	c.Program = orDefault(c.Program, filepath.Base(os.Args[0]))
	return c, nil
}

func orDefault[T comparable](v, def T) T {
	var zero T
	if v == zero {
		return def
	}
	return v
}

func (c Config) check() error {
	switch {
	case !floorID.MatchString(c.Floor):
		return fmt.Errorf("floor %q: use 1 to 32 letters, digits, '-' or '_'", c.Floor)
	case (c.Dir == "") == (c.URL == ""):
		return errors.New("set either a directory or a URL")
	case c.URL == "" && (c.Credentials != "" || c.NKeySeed != ""):
		return errors.New("credentials go with a URL")
	case c.Credentials != "" && c.NKeySeed != "":
		return errors.New("set either credentials or a key seed")
	case c.URL != "" && (c.Listen != "" || c.NoSync || c.NoDirSync || c.MaxStore != 0):
		return errors.New("port, sync and store limit of an external bus are set there")
	case c.Listen == "" && (c.Token != "" || len(c.Keys) > 0 || c.TLS != nil):
		return errors.New("a token, keys and certificates go with a listening address")
	}
	if c.Listen == "" {
		return nil
	}
	return errors.Join(c.address(), c.keys())
}

// address refuses an address that others reach, unless it is safe to be reached.
func (c Config) address() error {
	host, _, err := net.SplitHostPort(c.Listen)
	switch {
	case err != nil:
		return fmt.Errorf("listening address: %w", err)
	case isLoopback(host):
		return nil
	case c.TLS == nil:
		return fmt.Errorf("listening address %s: without a certificate only a loopback address such as 127.0.0.1 is opened", c.Listen)
	case len(c.Keys) == 0:
		return fmt.Errorf("listening address %s: no bench has a key; make one with packwright bus-key", c.Listen)
	}
	return nil
}

func (c Config) keys() error {
	for station, key := range c.Keys {
		if !floorID.MatchString(station) || !nkeys.IsValidPublicUserKey(key) {
			return fmt.Errorf("the key of %q is no user's public key", station)
		}
	}
	return nil
}

func isLoopback(host string) bool {
	ip := net.ParseIP(host)
	return ip != nil && ip.IsLoopback()
}

// dirSync makes a directory's entries durable, or leaves it.
func (c Config) dirSync() func(dir string) error {
	if c.NoDirSync {
		return func(string) error { return nil }
	}
	return syncDir
}

// Names on the bus. The stream is bound to the frame subject alone: bound to
// more it would answer other requests with its own acknowledgement.
func (c Config) stream() string  { return "floor-" + c.Floor }
func (c Config) subject() string { return "floor." + c.Floor + ".frame" }
