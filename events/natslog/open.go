package natslog

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"

	"packwright/events"
)

// ErrFull: the disk (or the store's limit) is full. It always comes with
// events.ErrUnreachable. Once it has come from the disk, the embedded store
// takes nothing more: make room, then open the log anew.
var ErrFull = errors.New("no space left for the log")

// Log is a floor's log on JetStream. Its methods may be called by many
// goroutines; Appends are taken one at a time.
type Log struct {
	cfg    Config
	lock   *os.File  // embedded only, as are the next three
	server *embedded //
	blocks *blocks   //
	walk   *walk     //

	// Appends have a connection of their own, so that their answers do not
	// queue behind a replay or behind the benches' traffic.
	writer, reader, bus *nats.Conn

	js     jetstream.JetStream // on reader
	stream jetstream.Stream

	turn chan struct{} // holds a token while an Append runs
	// request sends one message and waits for its answer; tests lose either.
	request func(context.Context, *nats.Msg) (*nats.Msg, error)

	alive context.Context // done when the store has failed for good or the log is closed
	fail  context.CancelCauseFunc
}

var _ events.Log = (*Log)(nil)

// Open opens a floor's log, and founds it if it has never been. Errors:
// ErrLocked (another process has the directory), ErrCorrupt (the stream is not
// what it must be, or missing), ErrUnreachable.
func Open(ctx context.Context, cfg Config) (*Log, error) {
	cfg, err := cfg.filled()
	if err != nil {
		return nil, err
	}
	l := &Log{cfg: cfg, turn: make(chan struct{}, 1)}
	l.alive, l.fail = context.WithCancelCause(context.Background())
	open := l.openExternal
	if cfg.Dir != "" {
		open = l.openEmbedded
	}
	if err := open(ctx); err != nil {
		return nil, fmt.Errorf("open the log of floor %s: %w", cfg.Floor, errors.Join(err, l.Close()))
	}
	return l, nil
}

func (l *Log) openExternal(ctx context.Context) error {
	if err := l.connect(); err != nil {
		return err
	}
	return l.openStream(ctx, false)
}

// openEmbedded takes the directory's lock first: two servers on one directory
// lose each other's frames without a word.
func (l *Log) openEmbedded(ctx context.Context) (err error) {
	dir := l.cfg.Dir
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return err
	}
	if l.lock, err = lockDir(dir, l.cfg.Program); err != nil {
		return err
	}
	note, err := readFounded(dir, l.cfg.Floor)
	if err != nil {
		return err
	}
	blockDir := filepath.Join(dir, "jetstream", "$G", "streams", l.cfg.stream(), "msgs")
	if note == nil {
		if err := clearHalfFounded(filepath.Dir(blockDir)); err != nil {
			return err
		}
	}
	end, err := readTail(dir, blockDir, l.cfg.subject())
	if err != nil {
		return err
	}
	if l.walk, err = openWalk(blockDir, time.Now()); err != nil {
		return err
	}
	if l.server, err = startServer(l.cfg, l.storeFailed); err != nil {
		return errors.Join(err, context.Cause(l.alive))
	}
	if err := l.connect(); err != nil {
		return err
	}
	if err := end.check(); err != nil {
		return err
	}
	if err := l.openStream(ctx, note != nil || len(end.before) > 0); err != nil {
		return err
	}
	if l.blocks, err = openBlocks(blockDir, l.cfg.dirSync()); err != nil {
		return err
	}
	if note != nil {
		return nil
	}
	if err := syncChain(dir, blockDir, l.cfg.dirSync()); err != nil {
		return fmt.Errorf("make the new store's directories durable: %w", err)
	}
	return writeFounded(dir, founded{Floor: l.cfg.Floor, Stream: l.cfg.stream()}, l.cfg.dirSync())
}

// connect opens the three connections.
func (l *Log) connect() (err error) {
	for _, c := range []struct {
		to   **nats.Conn
		name string
	}{{&l.writer, "writer"}, {&l.reader, "reader"}, {&l.bus, "bus"}} {
		if *c.to, err = l.Connect(c.name); err != nil {
			return err
		}
	}
	const headers = 4 << 10
	if room := l.writer.MaxPayload(); room < events.MaxFrame+headers {
		return fmt.Errorf("the bus takes messages of %d bytes, a frame may have %d", room, events.MaxFrame+headers)
	}
	l.request = l.writer.RequestMsgWithContext
	l.js, err = jetstream.New(l.reader)
	return err
}

// Connect opens one more connection to the log's bus, with the hub's rights.
// The caller closes it. Nothing is kept back for a lost connection: what can't
// be sent now fails now.
func (l *Log) Connect(name string, more ...nats.Option) (*nats.Conn, error) {
	opts := []nats.Option{
		nats.Name("floor " + l.cfg.Floor + " " + name),
		nats.MaxReconnects(-1),
		nats.ReconnectWait(100 * time.Millisecond),
		nats.ReconnectBufSize(-1),
	}
	switch {
	case l.server != nil:
		opts = append(opts, l.server.dial()...)
	case l.cfg.Credentials != "":
		opts = append(opts, nats.UserCredentials(l.cfg.Credentials))
	case l.cfg.NKeySeed != "":
		key, err := nats.NkeyOptionFromSeed(l.cfg.NKeySeed)
		if err != nil {
			return nil, fmt.Errorf("key seed: %w", err)
		}
		opts = append(opts, key)
	}
	conn, err := nats.Connect(l.cfg.URL, append(opts, more...)...)
	if err != nil {
		return nil, fmt.Errorf("connect %s: %w: %w", name, events.ErrUnreachable, err)
	}
	return conn, nil
}

// Conn is the connection for everything that is not the log: commands from
// benches, events for listeners. The log closes it.
func (l *Log) Conn() *nats.Conn { return l.bus }

// BenchURL is where benches in other processes connect, password included;
// empty unless Config.Listen opened a port.
func (l *Log) BenchURL() string {
	if l.server == nil {
		return ""
	}
	return l.server.benchURL()
}

// Free gives the bytes free to this process on the store's disk, and the
// disk's size. An external log does not know: errors.ErrUnsupported.
func (l *Log) Free() (free, total uint64, err error) {
	if l.cfg.Dir == "" {
		return 0, 0, fmt.Errorf("free space of an external log: %w", errors.ErrUnsupported)
	}
	return diskFree(l.cfg.Dir)
}

// Free gives the bytes of a directory's disk that are free to this process, and
// the disk's size.
func Free(dir string) (free, total uint64, err error) { return diskFree(dir) }

// storeFailed ends the log's life: nothing more is appended.
func (l *Log) storeFailed(cause error) {
	if noSpace(cause) {
		cause = fmt.Errorf("%w: %w", ErrFull, cause)
	}
	l.fail(fmt.Errorf("%w: the store has failed and takes nothing more until it is opened anew: %w", events.ErrUnreachable, cause))
}

// Close ends the log's followers, stops the embedded server and gives the
// directory free. Closing twice is safe.
func (l *Log) Close() error {
	l.fail(fmt.Errorf("%w: the log is closed", events.ErrUnreachable))
	for _, c := range []*nats.Conn{l.bus, l.reader, l.writer} {
		if c != nil {
			c.Close()
		}
	}
	if l.server != nil {
		l.server.stop()
		l.server = nil
	}
	lock := l.lock
	if lock == nil {
		return nil
	}
	l.lock = nil
	return lock.Close()
}
