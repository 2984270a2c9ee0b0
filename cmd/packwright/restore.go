package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"

	"packwright/events"
	"packwright/prep"
	"packwright/workflow/engine"
)

// restoreCommand makes a floor from a backup, or says only what a backup is
// worth. A backup that is older than what somebody has seen is put back only
// when the owner says so (acceptloss.go).
type restoreCommand struct {
	File   string `arg:"" optional:"" type:"path" help:"The backup."`
	Check  bool   `help:"Prove the file by rebuilding the floor from it in both readers; write nothing."`
	Policy string `type:"path" placeholder:"FILE" help:"The house's policy, which is not in a backup (the default policy)."`
	Key    string `type:"path" placeholder:"FILE" help:"Where the key that signs heads is (the user's configuration)."`
	Head   string `placeholder:"FRAME:ROOT" help:"The newest head that anybody has seen: of an answer, a day's sheet, a bench that says E-SYS-05."`
	NATS   string `name:"nats" placeholder:"URL" help:"Keep the log on the NATS server there, with JetStream, instead of in the directory."`
	NKey   string `name:"nkey" type:"path" placeholder:"FILE" help:"The key seed to connect there with."`
	Creds  string `name:"creds" type:"path" placeholder:"FILE" help:"Or the credentials file."`
	acceptLoss
}

// restored is what came of it.
type restored struct {
	Data  string       `json:"data"`
	Floor string       `json:"floor"`
	Head  engine.Head  `json:"head"`
	Taken *events.Time `json:"taken,omitempty"`
	Key   string       `json:"key_file,omitempty"`
	Loss  *lossNoted   `json:"loss,omitempty"`
}

// Run restores, checks, or notes a loss on a floor that stands already.
func (c *restoreCommand) Run(d *desk) error {
	if d.URL != "" {
		return prep.Input("a backup is not restored through a hub", "leave --url out and name the directory with --data")
	}
	if err := c.acceptLoss.check(); err != nil {
		return err
	}
	noted, err := parseHead(c.Head)
	switch {
	case err != nil:
		return err
	case c.File == "" && c.AcceptLoss:
		return c.onStanding(d, noted)
	case c.File == "":
		return prep.Input("no backup is named", "name the file that packwright backup wrote")
	}
	p, err := proveBackup(d, c.File, true)
	if err != nil {
		return err
	}
	missing, err := c.isMissing(d.ctx, p, noted)
	if err != nil {
		return err
	}
	if c.Check {
		return c.show(d, p)
	}
	return c.restore(d, p, missing)
}

// isMissing looks for the noted head in the backup, and gives it when the backup
// ends before it, which the owner must have accepted.
func (c *restoreCommand) isMissing(ctx context.Context, p provenBackup, noted *notedHead) (*notedHead, error) {
	switch {
	case noted == nil:
		return nil, nil
	case noted.Frame <= p.Sums.Frames:
		return nil, noted.find(ctx, backupLog(c.File), p.Sums.Frames)
	case !c.AcceptLoss && !c.Check:
		return nil, fmt.Errorf("%w: %s ends at frame %d; frame %d was seen: %d frames would be lost. Look for a newer backup; else the owner says --accept-loss",
			events.ErrCorrupt, c.File, p.Sums.Frames, noted.Frame, noted.Frame-p.Sums.Frames)
	}
	return noted, nil
}

// show says what the backup is worth.
func (c *restoreCommand) show(d *desk, p provenBackup) error {
	return d.show(p, func(w io.Writer) {
		fmt.Fprintf(w, "OK: %s, taken %s, %d events in %d frames\nroot %s\n", p.Header.Floor, p.Header.Taken, p.Sums.Events, p.Sums.Frames, p.Sums.Root)
		fmt.Fprintf(w, "both readers rebuilt the floor from it: state %.16s, %d laws hold\nnothing was written\n", p.State, p.Laws)
	})
}

func (c *restoreCommand) restore(d *desk, p provenBackup, missing *notedHead) error {
	about := founded{Format: foundedFormat, Floor: p.Header.Floor, Currency: p.Header.Currency, Key: p.Key}
	if c.NATS != "" {
		about.NATS = &elsewhere{URL: c.NATS, NKeySeed: c.NKey, Credentials: c.Creds}
	}
	out := restored{Data: d.Data, Floor: about.Floor, Taken: &p.Header.Taken}
	return c.staged(d, about, &out, missing, engine.Head{Frame: p.Sums.Frames, Size: p.Sums.Events, Root: p.Sums.Root}, func(log events.Log) error {
		step, finish := d.progress(int(p.Sums.Frames), "frames restored")
		defer finish()
		return backupLog(c.File).Scan(d.ctx, 1, func(seq uint64, frame []byte) error {
			step()
			return log.Append(d.ctx, seq-1, frame)
		})
	})
}

// staged puts a floor together from what fill writes, opens it as a hub does,
// and compares its head with the one it must have.
func (c *restoreCommand) staged(d *desk, about founded, out *restored, missing *notedHead, want engine.Head, fill func(events.Log) error) error {
	if err := about.findKey(d, c.Key, place(d.Data)); err != nil {
		return err
	}
	s, err := stage(d.Data, about)
	if err != nil {
		return err
	}
	err = s.fill(d, fill)
	if err == nil {
		err = s.describe(c.Policy)
	}
	if err == nil {
		err = c.opened(d, s.place, out, missing, want)
	}
	if err == nil {
		err = s.notePutBack(c.File, want)
	}
	if err == nil {
		err = s.finish()
	}
	if err != nil {
		return errors.Join(err, s.drop())
	}
	out.Key = about.KeyFile
	return d.show(out, out.say)
}

// opened opens what was put together: the decider reads all of it once more, from
// the store, and leaves a snapshot for the first start.
func (c *restoreCommand) opened(d *desk, at place, out *restored, missing *notedHead, want engine.Head) error {
	h, err := openHub(d.ctx, at, d.log, opening{Program: "packwright restore"})
	if err != nil {
		return err
	}
	out.Head = h.writer.Head()
	if want.Era = out.Head.Era; out.Head != want {
		err = fmt.Errorf("%w: the store ends at frame %d with root %.16s, the backup at frame %d with root %.16s", events.ErrCorrupt, out.Head.Frame, out.Head.Root, want.Frame, want.Root)
	}
	if err == nil && c.AcceptLoss {
		out.Loss, err = c.note(d.ctx, h, want, missing)
		out.Head = h.writer.Head()
	}
	return errors.Join(err, h.Close())
}

// findKey says where the key of a restored floor is. One that is not there stops
// nothing: heads stay due until it is.
func (f *founded) findKey(d *desk, file string, at place) (err error) {
	if f.Key == "" {
		return nil
	}
	if file == "" {
		file, err = usualKeyFile(f.Key)
	}
	if err == nil {
		err = apart(file, at)
	}
	if err != nil {
		return err
	}
	f.KeyFile = file
	if _, err := f.key(); errors.Is(err, os.ErrNotExist) {
		d.warn("the key that signs heads is not at %s: put it back there before the next truck leaves", file)
	} else if err != nil {
		return err
	}
	return nil
}

func (r *restored) say(w io.Writer) {
	fmt.Fprintf(w, "%s stands in %s: %d events in %d frames\nroot %s\n", r.Floor, r.Data, r.Head.Size, r.Head.Frame, r.Head.Root)
	if r.Loss != nil {
		r.Loss.say(w)
	}
	fmt.Fprintln(w, "PINs and benches' join codes are not in a backup: the owner signs in anew (packwright pin).")
}
