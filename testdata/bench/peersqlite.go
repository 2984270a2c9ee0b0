package bench

import (
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"strings"
)

// peerTable is the same in both databases, but for the type of a line.
const peerTable = `CREATE TABLE log (seq INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, carton TEXT NOT NULL, n INTEGER NOT NULL, line BLOB NOT NULL, UNIQUE (carton, n))`

// lite is SQLite in WAL mode with synchronous=FULL. One goroutine writes; while
// it syncs, what arrives gathers for the next transaction: group commit, as the
// engine does it.
type lite struct {
	path string
	db   *sql.DB
	in   chan waiting
	done chan struct{}
}

type waiting struct {
	e   Entry
	out chan error
}

// OpenSQLite opens it in a directory.
func OpenSQLite(dir string) (Peer, error) {
	l := &lite{path: filepath.Join(dir, "log.sqlite")}
	return l, l.open()
}

func (l *lite) Name() string { return "SQLite, WAL, FULL, group commit" }

func (l *lite) open() (err error) {
	fresh := false
	if _, err := os.Stat(l.path); err != nil {
		fresh = true
	}
	l.db, err = sql.Open("sqlite", "file:"+l.path+"?_pragma=journal_mode(WAL)&_pragma=synchronous(FULL)&_pragma=busy_timeout(5000)")
	if err != nil {
		return err
	}
	if fresh {
		if _, err := l.db.Exec(peerTable); err != nil {
			return err
		}
	}
	l.in, l.done = make(chan waiting, 1024), make(chan struct{})
	go l.write()
	return nil
}

// write takes what waits, in one transaction after another.
func (l *lite) write() {
	defer close(l.done)
	for first := range l.in {
		list := []waiting{first}
		for more := true; more && len(list) < 512; {
			select {
			case w, ok := <-l.in:
				if more = ok; ok {
					list = append(list, w)
				}
			default:
				more = false
			}
		}
		l.commit(list)
	}
}

func (l *lite) commit(list []waiting) {
	answers := make([]error, len(list))
	tx, err := l.db.Begin()
	if err == nil {
		for i, w := range list {
			r, fail := tx.Exec("INSERT INTO log (id, carton, n, line) VALUES (?, ?, ?, ?) ON CONFLICT DO NOTHING", w.e.ID, w.e.Carton, w.e.N, w.e.Line)
			if fail != nil {
				answers[i] = fail
			} else if n, _ := r.RowsAffected(); n == 0 {
				answers[i] = taken(w.e)
			}
		}
		err = tx.Commit()
	}
	for i, w := range list {
		if err != nil {
			answers[i] = err
		}
		w.out <- answers[i]
	}
}

func (l *lite) Append(_ int, e Entry) error {
	w := waiting{e, make(chan error, 1)}
	l.in <- w
	return <-w.out
}

func (l *lite) Load(list []Entry) error {
	tx, err := l.db.Begin()
	if err != nil {
		return err
	}
	defer tx.Rollback()
	put, err := tx.Prepare("INSERT INTO log (id, carton, n, line) VALUES (?, ?, ?, ?)")
	if err != nil {
		return err
	}
	for _, e := range list {
		if _, err := put.Exec(e.ID, e.Carton, e.N, e.Line); err != nil {
			return err
		}
	}
	return tx.Commit()
}

func (l *lite) Story(carton string) (out [][]byte, err error) {
	rows, err := l.db.Query("SELECT line FROM log WHERE carton = ? ORDER BY n", carton)
	if err != nil {
		return nil, err
	}
	return out, each(rows, func(line []byte) error { out = append(out, line); return nil })
}

func (l *lite) Replay(fn func([]byte) error) error {
	rows, err := l.db.Query("SELECT line FROM log ORDER BY seq")
	if err != nil {
		return err
	}
	return each(rows, fn)
}

func each(rows *sql.Rows, fn func([]byte) error) error {
	defer rows.Close()
	for rows.Next() {
		var line []byte
		if err := rows.Scan(&line); err != nil {
			return err
		}
		if err := fn(line); err != nil {
			return err
		}
	}
	return rows.Err()
}

func (l *lite) Disk() (sum int64, err error) {
	if _, err := l.db.Exec("PRAGMA wal_checkpoint(TRUNCATE)"); err != nil {
		return 0, err
	}
	names, err := filepath.Glob(l.path + "*")
	for _, n := range names {
		if st, err := os.Stat(n); err == nil && !strings.HasSuffix(n, "-shm") {
			sum += st.Size()
		}
	}
	return sum, err
}

func (l *lite) Restart(e Entry) error {
	if err := l.Close(); err != nil {
		return err
	}
	if err := l.open(); err != nil {
		return err
	}
	return l.Append(0, e)
}

func (l *lite) Close() error {
	close(l.in)
	<-l.done
	if err := l.db.Close(); err != nil {
		return fmt.Errorf("close SQLite: %w", err)
	}
	return nil
}
