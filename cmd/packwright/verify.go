package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"packwright/audit"
	"packwright/audit/follow"
	"packwright/events"
)

// verifyCommand reads every frame anew and believes none without proof. The
// floor's own store is never opened for that: its files are copied while its
// lock is held, and the copy is read. A hub at --url gives its frames, and the
// proving is done here. Evidence in a file is checked alone (verifyfile.go).
type verifyCommand struct {
	File    string `arg:"" optional:"" placeholder:"FILE" help:"Evidence that a floor gave (packwright claim evidence): checked alone, without any floor."`
	Key     string `placeholder:"KEY" help:"The public half of the floor's key, from paper: the log must have been founded with it, and its heads signed."`
	Rebuild bool   `help:"Also work the decider's state out from event 1, and compare it with the snapshot's, or the running hub's."`
	Head    string `placeholder:"FRAME:ROOT" help:"A head noted earlier, of an answer or a day's sheet, or the file of a signed one: the log must lead on from it."`
}

// verified is what came of it.
type verified struct {
	OK       bool          `json:"ok"`
	Verdict  audit.Verdict `json:"verdict"`
	Head     *notedHead    `json:"noted_head,omitempty"` // was found again
	Kept     []keptHead    `json:"kept_heads,omitempty"` // beside the store; the log leads to them
	Rebuilt  *rebuilt      `json:"rebuilt,omitempty"`
	Unproven uint64        `json:"unproven_from_frame,omitempty"`
	Trouble  string        `json:"trouble,omitempty"`
}

// Run verifies; whatever is not believable ends with exit code 4.
func (c *verifyCommand) Run(d *desk) (err error) {
	noted, err := parseHead(c.Head)
	if err != nil {
		return err
	}
	if c.File != "" {
		return c.file(d, noted)
	}
	from, err := d.verifySource()
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, from.Close()) }()
	out := verified{}
	err = out.read(d, from, noted, c.Key)
	if err == nil && c.Rebuild {
		out.Rebuilt, err = from.rebuild(d)
	}
	if out.OK = err == nil; err != nil {
		out.Trouble = err.Error()
	}
	if errors.Is(err, events.ErrCorrupt) || err == nil {
		err = errors.Join(d.say(out), err)
	}
	return err
}

// read proves chain, cells and laws, and looks for the noted head.
func (v *verified) read(d *desk, from *verifySource, noted *notedHead, key string) error {
	last, err := from.Last(d.ctx)
	if err != nil {
		return err
	}
	step, finish := d.progress(int(last), "frames")
	v.Verdict, err = follow.Verify(d.ctx, from, func(uint64) { step() })
	finish()
	switch {
	case errors.Is(err, events.ErrCorrupt):
		v.Unproven = v.Verdict.Frames + 1
		return err
	case err != nil:
		return err
	case v.Verdict.Frames < last:
		v.Unproven = v.Verdict.Frames + 1
		return fmt.Errorf("%w: the log counts %d frames and gave %d", events.ErrCorrupt, last, v.Verdict.Frames)
	case v.Verdict.Floor != from.about.Floor:
		return fmt.Errorf("%w: it is the log of %q, not of %q", events.ErrCorrupt, v.Verdict.Floor, from.about.Floor)
	case !v.Verdict.OK():
		return fmt.Errorf("%w: its frames are whole, and what they say is not lawful: %s", events.ErrCorrupt, firstBreach(v.Verdict))
	}
	if err := v.lead(d.ctx, from); err != nil {
		return err
	}
	for whose, k := range map[string]string{"the floor's directory": from.about.Key, "the paper": key} {
		if k != "" && k != v.Verdict.Key {
			return fmt.Errorf("%w: it was founded with the key %q; that of %s is %q", events.ErrCorrupt, v.Verdict.Key, whose, k)
		}
	}
	if noted == nil {
		return nil
	}
	if err := noted.open(v.Verdict.Key); err != nil {
		return err
	}
	if err := noted.find(d.ctx, from, v.Verdict.Frames); err != nil {
		return err
	}
	v.Head = noted
	return nil
}

// lead holds the log against the heads in the copied snapshot directory.
func (v *verified) lead(ctx context.Context, from *verifySource) error {
	if from.copy == "" {
		return nil // the hub does so itself, when it opens
	}
	v.Kept = keptHeads(filepath.Join(from.copy, "snapshot"))
	return lead(ctx, from, v.Kept, v.Verdict.Frames, v.Verdict.Root)
}

func firstBreach(v audit.Verdict) string {
	if len(v.Breaches) > 0 {
		return v.Breaches[0].String()
	}
	for _, l := range v.Lots {
		if !l.Balanced {
			return fmt.Sprintf("lot %s received %d, its books hold %d", l.Lot, l.Received, l.Sum)
		}
	}
	return ""
}

// Text says what is proven, and what is not.
func (v verified) Text(w io.Writer) error {
	b := &strings.Builder{}
	if v.Unproven > 0 {
		fmt.Fprintf(b, "NOT BELIEVABLE from frame %d on: %s\n", v.Unproven, v.Trouble)
		fmt.Fprintf(b, "%d events in the %d frames before it are proven, head %s\n", v.Verdict.Events, v.Verdict.Frames, v.Verdict.Root)
		_, err := io.WriteString(w, b.String())
		return err
	}
	if err := v.Verdict.Text(b); err != nil {
		return err
	}
	for _, k := range v.Kept {
		if v.Trouble == "" || k.Lost != "" {
			k.text(b)
		}
	}
	if v.Head != nil {
		fmt.Fprintf(b, "the head noted at %s is in it\n", v.Head)
	}
	if v.Rebuilt != nil {
		v.Rebuilt.text(b)
	}
	if v.Trouble != "" {
		fmt.Fprintf(b, "NOT BELIEVABLE: %s\n", v.Trouble)
	}
	_, err := io.WriteString(w, b.String())
	return err
}
