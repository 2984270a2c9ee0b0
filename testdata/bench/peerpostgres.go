package bench

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"time"

	"github.com/jackc/pgx/v5"
)

// postgres is a PostgreSQL of its own in a directory, reached by a socket there:
// synchronous_commit=on, fsync=on, a transaction an entry, a connection a client.
type postgres struct {
	bin, dir string
	clients  []*pgx.Conn
	n        int
	as       *syscall.SysProcAttr // it refuses to run as root
}

// OpenPostgres makes a cluster in dir for n clients. Errors: ErrAbsent.
func OpenPostgres(dir string, n int) (Peer, error) {
	found, _ := filepath.Glob("/usr/lib/postgresql/*/bin/pg_ctl")
	if len(found) == 0 {
		return nil, fmt.Errorf("PostgreSQL: %w", ErrAbsent)
	}
	p := &postgres{bin: filepath.Dir(slices.Max(found)), dir: dir, n: n}
	if err := p.owner(); err != nil {
		return nil, err
	}
	if err := p.run("initdb", "-D", dir+"/data", "-U", "bench", "-A", "trust", "--no-sync"); err != nil {
		return nil, err
	}
	settings := fmt.Sprintf("listen_addresses=''\nunix_socket_directories='%s'\nmax_connections=%d\nsynchronous_commit=on\nfsync=on\nshared_buffers=256MB\nmax_wal_size=2GB\n", dir, n+10)
	if err := os.WriteFile(dir+"/data/postgresql.auto.conf", []byte(settings), 0o644); err != nil {
		return nil, err
	}
	if err := p.start(); err != nil {
		return nil, err
	}
	_, err := p.clients[0].Exec(context.Background(), strings.NewReplacer("INTEGER PRIMARY KEY", "BIGSERIAL PRIMARY KEY", "BLOB", "BYTEA").Replace(peerTable))
	return p, err
}

// owner gives the directory to somebody who is not root.
func (p *postgres) owner() error {
	if os.Getuid() != 0 {
		return nil
	}
	u, err := user.Lookup("postgres")
	if err != nil {
		return err
	}
	uid, _ := strconv.Atoi(u.Uid)
	gid, _ := strconv.Atoi(u.Gid)
	p.as = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}}
	return os.Chown(p.dir, uid, gid)
}

func (p *postgres) run(name string, args ...string) error {
	c := exec.Command(filepath.Join(p.bin, name), args...)
	c.SysProcAttr, c.Dir = p.as, p.dir
	log, err := os.CreateTemp("", "packwright-postgres-")
	if err != nil {
		return err
	}
	defer os.Remove(log.Name())
	defer log.Close()
	c.Stdout, c.Stderr = log, log // a file, not a pipe: the server inherits it
	if err := c.Run(); err != nil {
		said, _ := os.ReadFile(log.Name())
		return fmt.Errorf("%s: %w: %s", name, err, said)
	}
	return nil
}

func (p *postgres) start() error {
	if err := p.run("pg_ctl", "-D", p.dir+"/data", "-w", "-s", "start"); err != nil {
		return err
	}
	for range p.n {
		c, err := pgx.Connect(context.Background(), "host="+p.dir+" user=bench dbname=postgres")
		if err != nil {
			return err
		}
		p.clients = append(p.clients, c)
	}
	return nil
}

func (p *postgres) Name() string { return "PostgreSQL, synchronous_commit=on" }

func (p *postgres) Append(client int, e Entry) error {
	t, err := p.clients[client].Exec(context.Background(), "INSERT INTO log (id, carton, n, line) VALUES ($1, $2, $3, $4) ON CONFLICT DO NOTHING", e.ID, e.Carton, e.N, e.Line)
	if err == nil && t.RowsAffected() == 0 {
		return taken(e)
	}
	return err
}

func (p *postgres) Load(list []Entry) error {
	rows := make([][]any, len(list))
	for i, e := range list {
		rows[i] = []any{e.ID, e.Carton, e.N, e.Line}
	}
	_, err := p.clients[0].CopyFrom(context.Background(), pgx.Identifier{"log"}, []string{"id", "carton", "n", "line"}, pgx.CopyFromRows(rows))
	if err == nil {
		_, err = p.clients[0].Exec(context.Background(), "VACUUM ANALYZE log")
	}
	return err
}

func (p *postgres) Story(carton string) (out [][]byte, err error) {
	return out, p.read(func(line []byte) error { out = append(out, line); return nil }, "SELECT line FROM log WHERE carton = $1 ORDER BY n", carton)
}

func (p *postgres) Replay(fn func([]byte) error) error {
	return p.read(fn, "SELECT line FROM log ORDER BY seq")
}

func (p *postgres) read(fn func([]byte) error, query string, args ...any) error {
	rows, err := p.clients[0].Query(context.Background(), query, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		if err := fn(slices.Clone(rows.RawValues()[0])); err != nil {
			return err
		}
	}
	return rows.Err()
}

func (p *postgres) Disk() (n int64, err error) {
	if _, err := p.clients[0].Exec(context.Background(), "CHECKPOINT"); err != nil {
		return 0, err
	}
	err = p.clients[0].QueryRow(context.Background(), "SELECT pg_total_relation_size('log')").Scan(&n)
	return n, err
}

func (p *postgres) Restart(e Entry) error {
	if err := p.Close(); err != nil {
		return err
	}
	n := p.n
	p.n = 1
	defer func() { p.n = n }()
	if err := p.start(); err != nil {
		return err
	}
	return p.Append(0, e)
}

func (p *postgres) Close() error {
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	var errs []error
	for _, c := range p.clients {
		errs = append(errs, c.Close(ctx))
	}
	p.clients = nil
	return errors.Join(append(errs, p.run("pg_ctl", "-D", p.dir+"/data", "-m", "fast", "-w", "-s", "stop"))...)
}
