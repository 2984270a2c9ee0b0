package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strconv"
	"strings"

	"packwright/audit"
	"packwright/audit/follow"
	"packwright/events"
	"packwright/events/proof"
	"packwright/prep"
)

// verifyCommand reads every frame anew and believes none without proof. The
// floor's own store is never opened for that: its files are copied while its
// lock is held, and the copy is read. A hub at --url gives its frames, and the
// proving is done here.
type verifyCommand struct {
	Rebuild bool   `help:"Also work the decider's state out from event 1, and compare it with the snapshot's, or the running hub's."`
	Head    string `placeholder:"FRAME:ROOT" help:"A head noted earlier, of an answer or a day's sheet: the log must still lead to it."`
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

// notedHead is a head of the log that somebody kept.
type notedHead struct {
	Frame uint64 `json:"frame"`
	Root  string `json:"root"`
}

// Run verifies; whatever is not believable ends with exit code 4.
func (c *verifyCommand) Run(d *desk) (err error) {
	noted, err := parseHead(c.Head)
	if err != nil {
		return err
	}
	from, err := d.verifySource()
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, from.Close()) }()
	out := verified{}
	err = out.read(d, from, noted)
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
func (v *verified) read(d *desk, from *verifySource, noted *notedHead) error {
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
	if noted != nil {
		if err := noted.find(d.ctx, from, v.Verdict.Frames); err != nil {
			return err
		}
		v.Head = noted
	}
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

// parseHead reads FRAME:ROOT; nothing gives nil.
func parseHead(s string) (*notedHead, error) {
	if s == "" {
		return nil, nil
	}
	frame, root, ok := strings.Cut(s, ":")
	n, err := strconv.ParseUint(frame, 10, 64)
	if !ok || err != nil || n == 0 || len(root) < 16 || len(root) > 64 || strings.Trim(root, "0123456789abcdef") != "" {
		return nil, prep.Input(fmt.Sprintf("%q is no head of a log", s), "write the frame, a colon, and at least 16 signs of the root")
	}
	return &notedHead{n, root}, nil
}

// find says whether the log still leads to the head. Frames were proven before.
func (n *notedHead) find(ctx context.Context, log events.Log, frames uint64) error {
	if n.Frame > frames {
		return fmt.Errorf("%w: the head that was noted is newer: frame %d; this log ends at frame %d", events.ErrCorrupt, n.Frame, frames)
	}
	var chain proof.Chain
	err := log.Scan(ctx, 1, func(seq uint64, frame []byte) error {
		if seq > n.Frame {
			return errFull
		}
		_, _, err := chain.Take(seq, frame)
		return err
	})
	if err != nil && !errors.Is(err, errFull) {
		return err
	}
	if got := proof.Hex(chain.Tree.Root()); !strings.HasPrefix(got, n.Root) {
		return fmt.Errorf("%w: after frame %d the root is %.16s; %.16s was noted: another past was put in its place", events.ErrCorrupt, n.Frame, got, n.Root)
	}
	return nil
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
		fmt.Fprintf(b, "the head noted at frame %d is in it\n", v.Head.Frame)
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
