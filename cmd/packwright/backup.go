package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"packwright/audit/follow"
	"packwright/events"
	"packwright/events/backup"
	"packwright/events/proof"
	"packwright/workflow"
	"packwright/workflow/engine"
)

// backupCommand writes the log into one file that proves itself, from a running
// hub while packing goes on, or from a floor that nobody has open. What was
// written is read again and rebuilt from before it takes the place of an older
// file: a backup that was never read is a hope.
type backupCommand struct {
	File  string `arg:"" type:"path" help:"The file. One that is there is replaced, once the new one is proven."`
	Quick bool   `help:"Read the new file again and prove its chain, but do not rebuild the floor from it."`
}

// backedUp is what backup.json in the floor's directory holds: the last backup.
type backedUp struct {
	At       time.Time `json:"at"`
	File     string    `json:"file"`
	Frames   uint64    `json:"frames"`
	Events   int64     `json:"events"`
	Root     string    `json:"root"`
	Verified bool      `json:"verified"` // both readers rebuilt the floor from it

	// LastVerified is the newest before this one that was, when this one was not.
	LastVerified *backedUp `json:"last_verified,omitempty"`
}

// proven gives the newest that was verified; nil when none was.
func (b *backedUp) proven() *backedUp {
	if b == nil || b.Verified {
		return b
	}
	return b.LastVerified
}

func (p place) backup() string { return p.file("backup.json") }

// Run writes, proves, renames and notes.
func (c *backupCommand) Run(d *desk) error {
	src, err := d.source("packwright backup")
	if err != nil {
		return err
	}
	fresh := c.File + ".unproven"
	begun := time.Now()
	err = c.write(d, src, fresh, begun)
	if err = errors.Join(err, src.Close()); err != nil {
		return errors.Join(err, gone(fresh))
	}
	p, err := proveBackup(d, fresh, !c.Quick)
	if err == nil {
		err = moveInto(fresh, c.File)
	}
	if err != nil {
		return errors.Join(err, gone(fresh))
	}
	done := backedUp{At: begun.UTC().Truncate(time.Second), File: c.File, Frames: p.Sums.Frames, Events: p.Sums.Events, Root: p.Sums.Root, Verified: !c.Quick}
	if err := d.noteBackup(src.about.Floor, done); err != nil {
		return err
	}
	return d.show(done, func(w io.Writer) {
		fmt.Fprintf(w, "%s: %d events in %d frames of %s\nroot %s\n", c.File, done.Events, done.Frames, src.about.Floor, done.Root)
		if done.Verified {
			fmt.Fprintf(w, "read again, and both readers rebuilt the floor from it: state %.16s\n", p.State)
		}
		fmt.Fprintln(w, "Not in it: policy.yaml, who may sign in with which PIN, and the key that signs. Keep copies of these apart.")
	})
}

func (c *backupCommand) write(d *desk, src logSource, file string, now time.Time) error {
	last, err := src.Last(d.ctx)
	if err != nil {
		return err
	}
	step, finish := d.progress(int(last), "frames written")
	defer finish()
	return engine.WriteWhole(file, func(w io.Writer) error {
		h := backup.Header{Floor: src.about.Floor, Taken: events.At(now), Currency: src.about.Currency}
		_, _, err := backup.Write(d.ctx, w, src, h, func(uint64) { step() })
		return err
	})
}

// noteBackup tells the floor's directory of the backup: the one of --data, or
// the one whose hub.url was named. A hub elsewhere cannot be told.
func (d *desk) noteBackup(floor string, done backedUp) error {
	at := place(d.Data)
	if d.URL != "" && !strings.Contains(d.URL, "://") {
		at = place(filepath.Dir(d.URL))
	}
	if about, err := at.founded(); err != nil || about.Floor != floor {
		d.warn("the floor's directory is not here; its health report will not tell of this backup")
		return nil
	}
	if !done.Verified {
		if old, err := at.lastBackup(); err == nil {
			done.LastVerified = old.proven()
		}
	}
	b, err := json.Marshal(done)
	if err != nil {
		return err
	}
	return writeWhole(at.backup(), append(b, '\n'))
}

// lastBackup reads what is known of the last backup; nil when there was none.
func (p place) lastBackup() (*backedUp, error) {
	return readKept[backedUp](p.backup())
}

// safeSince gives when the last verified backup began; zero when there is none.
func (p place) safeSince() time.Time {
	if last, err := p.lastBackup(); err == nil && last.proven() != nil {
		return last.proven().At
	}
	return time.Time{}
}

// readKept reads one of the floor's small JSON files; nil when it is not there.
func readKept[T any](file string) (*T, error) {
	b, err := os.ReadFile(file)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	var kept T
	if err := json.Unmarshal(b, &kept); err != nil {
		return nil, fmt.Errorf("%s cannot be read: %w", file, err)
	}
	return &kept, nil
}

// provenBackup is what a backup comes to.
type provenBackup struct {
	Header backup.Header `json:"header"`
	Sums   backup.Sums   `json:"sums"`
	Key    string        `json:"key,omitempty"`   // that the log was founded with
	State  string        `json:"state,omitempty"` // digest of the decider's floor rebuilt from it
	Laws   int           `json:"laws,omitempty"`  // that hold in it
}

// backupLog gives a backup file as a log.
func backupLog(file string) backup.Log {
	return backup.Log{Open: func() (io.ReadCloser, error) { return os.Open(file) }}
}

// proveBackup reads a backup to its end; with rebuild both readers fold it and
// the laws look on. Nothing is written. Errors name the file.
func proveBackup(d *desk, file string, rebuild bool) (p provenBackup, err error) {
	defer func() {
		if err != nil {
			err = fmt.Errorf("%s: %w", file, err)
		}
	}()
	f, err := os.Open(file)
	if err != nil {
		return p, err
	}
	p.Header, p.Sums, err = backup.Read(f, nil)
	if err = errors.Join(err, f.Close()); err != nil || !rebuild {
		return p, err
	}
	return p, p.rebuild(d, backupLog(file))
}

// rebuild folds a log, which holds what the sums say, in both readers.
func (p *provenBackup) rebuild(d *desk, log events.Log) error {
	floor, chain := workflow.NewFloor(workflow.DefaultPolicy()), proof.Chain{Floor: p.Header.Floor, Next: 1}
	if err := engine.Replay(d.ctx, log, floor, &chain); err != nil {
		return err
	}
	if floor.ID != p.Header.Floor || floor.Currency != p.Header.Currency.Code {
		return fmt.Errorf("%w: the file is said to be of %s, in %s; its log founds %s, in %s",
			events.ErrCorrupt, p.Header.Floor, p.Header.Currency.Code, floor.ID, floor.Currency)
	}
	p.Key = floor.Key
	var err error
	if p.State, err = engine.Digest(floor); err != nil {
		return err
	}
	return p.audit(d.ctx, d, log)
}

func (p *provenBackup) audit(ctx context.Context, d *desk, log events.Log) error {
	step, finish := d.progress(int(p.Sums.Frames), "frames proven")
	defer finish()
	v, err := follow.Verify(ctx, log, func(uint64) { step() })
	switch {
	case err != nil:
		return err
	case v.Frames != p.Sums.Frames || v.Events != p.Sums.Events || v.Root != p.Sums.Root || v.Cells != p.Sums.Cells.String():
		return fmt.Errorf("%w: the auditor comes to %d events with root %.16s, the file says %d with root %.16s", events.ErrCorrupt, v.Events, v.Root, p.Sums.Events, p.Sums.Root)
	case !v.OK():
		return fmt.Errorf("%w: its frames are whole, and what they say is not lawful: %s", events.ErrCorrupt, firstBreach(v))
	}
	p.Laws = v.Laws
	return nil
}

// gone removes a file that may not be there.
func gone(file string) error {
	if err := os.Remove(file); !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

// moveInto gives a file, or a directory, its name for good.
func moveInto(from, to string) error {
	if err := os.Rename(from, to); err != nil {
		return err
	}
	return syncDir(filepath.Dir(to))
}

// syncDir makes the names in a directory durable.
func syncDir(dir string) error {
	f, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}
