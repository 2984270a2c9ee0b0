package main

import (
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/rs/zerolog"

	"packwright/events"
	"packwright/events/natslog"
	"packwright/workflow"
	"packwright/workflow/engine"
)

// Bounds of what the doctor lets pass.
const (
	clockSlack   = 2 * time.Minute    // a clock may differ by that much; policy of the floor's own clock check
	backupOld    = 7 * 24 * time.Hour // common practice: at least a backup a week
	scaleOld     = 24 * time.Hour     // a scale is checked each day
	laggingBooks = 2_000              // frames
)

// chart is what the copy of a closed floor shows.
type chart struct {
	src    *verifySource
	writer *engine.Engine
	kept   []keptHead
	last   events.Time
	scales []scaleSeen
}

// discharge lets go of the copy.
func (p *patient) discharge() {
	if p.copy == nil {
		return
	}
	if p.copy.writer != nil {
		_ = p.copy.writer.Close()
	}
	_ = p.copy.src.Close()
}

// askHub asks a running hub how it is.
func (p *patient) askHub() finding {
	desk := *p.d
	said := *p.d.settings
	said.URL = p.url
	desk.settings = &said
	web, err := desk.web()
	var h health
	if err == nil {
		err = web.Look(p.d.ctx, "/health", &h)
	}
	if err != nil {
		p.stop = p.d.URL != ""
		if p.held != nil {
			err = fmt.Errorf("%w; and no hub answers by %s: %w", p.held, filepath.Base(p.url), err)
		}
		return ill(err, "See whether that process still runs. If it hangs, end it: what was answered is kept.")
	}
	p.hub = &h
	if u, err := url.Parse(web.URL); err == nil {
		u.User = nil
		p.url = u.String()
	}
	if !h.OK {
		return ill(errors.New("it says it is not well: "+strings.Join(h.Trouble, "; ")), "Do what it says. If the log is not believable, stop, keep the directory as it is, and call the owner.")
	}
	return well("runs at %s since %s, %d frames", p.url, h.Since.Format(time.DateTime), h.Head.Frame)
}

// disk: is there room?
func (p *patient) disk() finding {
	if p.d.URL != "" || p.about.NATS != nil {
		return finding{}
	}
	free, total, err := natslog.Free(string(p.at))
	if errors.Is(err, errors.ErrUnsupported) {
		return remark("", "how much room there is cannot be told here")
	}
	if err != nil {
		return ill(err, "")
	}
	return diskRoom(free, total)
}

func diskRoom(free, total uint64) finding {
	low, of := engine.Low(total), fmt.Sprintf("%d MiB of %d MiB are free", free>>20, total>>20)
	const do = "Make room: nothing of the floor's directory may be deleted but snapshot/."
	switch {
	case free < low/2:
		return ill(fmt.Errorf("%s: below %d MiB no command is taken", of, low/2>>20), do)
	case free < low:
		return ill(fmt.Errorf("%s: below %d MiB no new work is begun", of, low>>20), do)
	case free < 2*low:
		return remark(do, "%s: not much above the %d MiB below which no new work is begun", of, low>>20)
	}
	return well("%s", of)
}

// key: can the log's heads be signed?
func (p *patient) key() finding {
	if p.d.URL != "" || p.about.Key == "" {
		return finding{}
	}
	k, err := readKey(p.about.KeyFile)
	switch {
	case err != nil:
		return ill(err, "Put the key's file back where floor.json says. Without it no head is signed; packing goes on.")
	case k.Public != p.about.Key:
		return ill(fmt.Errorf("%s is another floor's key", p.about.KeyFile), "Put this floor's key there.")
	}
	return well("heads can be signed with %s", p.about.KeyFile)
}

// store: is it this floor's whole log, as it must be? A closed one is copied.
func (p *patient) store() finding {
	switch {
	case p.hub != nil:
		if p.hub.Bus != "up" {
			return ill(errors.New("the hub has lost its store"), "End the hub and start it again.")
		}
		return well("the hub has it; the hub compared its configuration and first frame when it opened")
	case p.held != nil && errors.Is(p.held, events.ErrLocked):
		return finding{}
	}
	src, err := p.d.verifySource()
	if err != nil {
		return ill(err, "")
	}
	p.copy = &chart{src: src, kept: keptHeads(filepath.Join(src.copy, "snapshot"))}
	last, err := src.Last(p.d.ctx)
	if err != nil {
		return ill(err, "")
	}
	return well("%d frames; its configuration is as it must be, its first frame is 1", last)
}

// heads: do snapshot and checkpoint say something? Whether the log leads to them
// is told by the next check.
func (p *patient) heads() finding {
	if p.hub != nil {
		if p.hub.Snapshot == nil {
			return remark("", "no snapshot yet; one is written when the hub ends")
		}
		return well("the snapshot is of %s", p.hub.Snapshot.Format(time.DateTime))
	}
	if p.copy == nil {
		return finding{}
	}
	var said []string
	for _, k := range p.copy.kept {
		if k.Lost != "" {
			return remark("Nothing to do: the next start reads the whole log and writes it anew.", "%s says nothing: %s", k.What, k.Lost)
		}
		said = append(said, fmt.Sprintf("%s of frame %d", k.What, k.Frame))
	}
	if said == nil {
		return remark("", "there are none; the next start reads the whole log")
	}
	return well("%s", strings.Join(said, ", "))
}

// digests: do the decider's cells and the auditor's agree at every frame? A
// closed floor's log is proven whole for that, as by packwright verify.
func (p *patient) digests() finding {
	switch {
	case p.hub != nil && p.hub.Auditor != nil:
		a := p.hub.Auditor
		switch {
		case a.Digests != "equal":
			return ill(fmt.Errorf("%w: the auditor's cells are not the decider's after frame %d", events.ErrCorrupt, a.Frame), "")
		case a.Lag > laggingBooks:
			return remark("Wait, and look again: questions are answered late.", "equal up to frame %d; the auditor is %d frames behind", a.Frame, a.Lag)
		}
		return well("decider and auditor agree up to frame %d; packwright verify --url proves the old frames too", a.Frame)
	case p.copy == nil:
		return finding{}
	}
	v := verified{}
	if err := v.read(p.d, p.copy.src, nil, ""); err != nil {
		return ill(err, "")
	}
	p.copy.last = v.Verdict.Last
	if err := p.open(); err != nil {
		return ill(err, "")
	}
	return well("all %d frames are proven, the laws hold, decider and auditor agree", v.Verdict.Frames)
}

// open starts a writer on the copy, as the next start would.
func (p *patient) open() error {
	c, ctx := p.copy, p.d.ctx
	policy, err := c.src.policy(p.d)
	if err != nil {
		return err
	}
	c.writer, err = engine.Open(ctx, engine.Config{Log: c.src, Floor: p.about.Floor, Policy: policy, Now: time.Now, Snapshot: filepath.Join(c.src.copy, "snapshot"), Logger: zerolog.Nop()})
	if err != nil {
		return err
	}
	return c.writer.View(ctx, func(f *workflow.Floor) { c.scales = scalesOf(f) })
}

// clock: has the log a later time than this machine?
func (p *patient) clock() finding {
	var last events.Time
	switch {
	case p.hub != nil && p.hub.Last != nil:
		last = *p.hub.Last
	case p.copy != nil:
		last = p.copy.last
	}
	if last.IsZero() {
		return finding{}
	}
	if ahead := last.Std().Sub(p.now); ahead > clockSlack {
		return ill(fmt.Errorf("the last event was recorded at %s, %s after this machine's time", last, ahead.Round(time.Second)),
			"Set the machine's clock. Until it is past that time, all events are recorded with the time of the last one: the log never goes back.")
	}
	return well("the last event was recorded at %s", last)
}

// scales: was each checked lately, and passed?
func (p *patient) scales() finding {
	var list []scaleSeen
	switch {
	case p.hub != nil:
		list = p.hub.Scales
	case p.copy != nil:
		list = p.copy.scales
	}
	var old []string
	for _, s := range list {
		if !s.OK {
			return ill(fmt.Errorf("scale %s did not pass its last check, at %s", s.Scale, s.Checked), "Check it with the reference mass; until it passes, cartons are counted twice instead of weighed.")
		}
		if p.now.Sub(s.Checked.Std()) > scaleOld {
			old = append(old, fmt.Sprintf("%s (%s)", s.Scale, s.Checked))
		}
	}
	switch {
	case len(list) == 0:
		return finding{}
	case len(old) > 0:
		return remark("Put the reference mass on, before the first carton of the day.", "not checked since yesterday: %s", strings.Join(old, ", "))
	}
	return well("%s, checked and passed", counted(len(list), "scale", "scales"))
}

// backedUp: is there a backup that was proven, and not old?
func (p *patient) backedUp() finding {
	if p.d.URL != "" && p.hub == nil {
		return finding{}
	}
	last, err := p.at.lastBackup()
	if p.d.URL != "" {
		last, err = p.hub.Backup, nil
	}
	const do = "Run packwright backup, to another disk."
	switch {
	case err != nil:
		return ill(err, do)
	case last == nil:
		return remark(do, "none is known")
	case !last.Verified:
		return ill(fmt.Errorf("the last one, %s, was not proven", last.File), do)
	case p.now.Sub(last.At) > backupOld:
		return ill(fmt.Errorf("the last one is of %s", last.At.Format(time.DateTime)), do)
	}
	if _, err := os.Stat(last.File); errors.Is(err, fs.ErrNotExist) {
		return remark("If it was carried to another place, all is well.", "of %s, %d events; its file %s is not there any more", last.At.Format(time.DateTime), last.Events, last.File)
	}
	return well("of %s, %d events, proven: %s", last.At.Format(time.DateTime), last.Events, last.File)
}
