package bench

import (
	"context"
	"database/sql"
	_ "embed"
	"fmt"

	_ "modernc.org/sqlite" // another engine, in Go alone

	"packwright/events"
)

// schema is the whole reading; see the comment at its head.
//
//go:embed oracle.sql
var schema string

// Line is an event as the log holds it.
type Line struct {
	Seq  events.Seq
	Type events.Type
	Raw  []byte
}

// Lines gives the raw lines of a log's frames, in order.
func Lines(frames [][]byte) (out []Line, err error) {
	for i, frame := range frames {
		_, raw, err := events.SplitFrame(frame)
		if err != nil {
			return nil, err
		}
		list, err := events.DecodeLines(uint64(i+1), raw)
		if err != nil {
			return nil, err
		}
		for k, e := range list {
			out = append(out, Line{e.Seq, e.Type(), raw[k]})
		}
	}
	return out, nil
}

// Oracle is a log in SQLite, with the views of oracle.sql over it.
type Oracle struct{ db *sql.DB }

// Consult loads lines, as they stand, into a database in memory.
func Consult(ctx context.Context, lines []Line) (*Oracle, error) {
	db, err := sql.Open("sqlite", ":memory:")
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(1) // each connection would be a database of its own
	o := &Oracle{db}
	if err := o.load(ctx, lines); err != nil {
		db.Close()
		return nil, err
	}
	return o, nil
}

func (o *Oracle) load(ctx context.Context, lines []Line) error {
	if _, err := o.db.ExecContext(ctx, schema); err != nil {
		return fmt.Errorf("oracle.sql: %w", err)
	}
	tx, err := o.db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback()
	put, err := tx.PrepareContext(ctx, "INSERT INTO log VALUES (?, ?, ?, ?)")
	if err != nil {
		return err
	}
	for _, l := range lines {
		if _, err := put.ExecContext(ctx, int64(l.Seq.Frame), l.Seq.Index, string(l.Type), string(l.Raw)); err != nil {
			return err
		}
	}
	// What many views rest on is worked out once.
	for _, t := range []string{"delta", "turn", "settled"} {
		if _, err := tx.ExecContext(ctx, "INSERT INTO "+t+" SELECT * FROM "+t+"_of_log"); err != nil {
			return fmt.Errorf("%s: %w", t, err)
		}
	}
	return tx.Commit()
}

// Close forgets the database.
func (o *Oracle) Close() error { return o.db.Close() }

// Ask runs a query and writes each row as one line, its columns parted by bars.
func (o *Oracle) Ask(ctx context.Context, query string) (out []string, err error) {
	rows, err := o.db.QueryContext(ctx, query)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", query, err)
	}
	defer rows.Close()
	names, err := rows.Columns()
	if err != nil {
		return nil, err
	}
	cells := make([]sql.NullString, len(names))
	into := make([]any, len(names))
	for i := range cells {
		into[i] = &cells[i]
	}
	for rows.Next() {
		if err := rows.Scan(into...); err != nil {
			return nil, err
		}
		line := ""
		for i, c := range cells {
			if i > 0 {
				line += "|"
			}
			line += c.String
		}
		out = append(out, line)
	}
	return out, rows.Err()
}
