package main

import (
	"errors"
	"fmt"
	"os"

	"packwright/events"
	"packwright/events/backup"
	"packwright/events/memlog"
	"packwright/events/proof"
	"packwright/prep"
	"packwright/workflow"
	"packwright/workflow/engine"
)

// importCommand groups what can be put into an empty directory.
type importCommand struct {
	Events importEvents `cmd:"" help:"A floor from what export events wrote."`
}

// importEvents makes a floor from JSON lines. The events stand in it byte for
// byte and frame for frame, so that its root is the one that was exported; what
// frame headers say beside is worked out anew by the decider.
type importEvents struct {
	File   string `arg:"" type:"path" help:"The file."`
	Digits int    `default:"2" help:"How many decimal digits the currency's minor unit has (${default}); events do not say."`
	Policy string `type:"path" placeholder:"FILE" help:"The house's policy (the default policy)."`
	Key    string `type:"path" placeholder:"FILE" help:"Where the key that signs heads is (the user's configuration)."`
}

// Run reads the file twice: once into both readers, once into the store.
func (c *importEvents) Run(d *desk) error {
	if d.URL != "" {
		return prep.Input("events are not imported through a hub", "leave --url out and name the directory with --data")
	}
	if c.Digits < 0 || c.Digits > 4 {
		return prep.Input(fmt.Sprintf("a minor unit of %d digits", c.Digits), "choose from 0 to 4; most currencies have 2")
	}
	p, err := c.prove(d)
	if err != nil {
		return err
	}
	about := founded{Format: foundedFormat, Floor: p.Header.Floor, Currency: p.Header.Currency, Key: p.Key}
	out := restored{Data: d.Data, Floor: about.Floor}
	as := restoreCommand{Policy: c.Policy, Key: c.Key}
	return as.staged(d, about, &out, nil, engine.Head{Frame: p.Sums.Frames, Size: p.Sums.Events, Root: p.Sums.Root}, func(log events.Log) error {
		_, err := c.frames(func(seq uint64, frame []byte) error { return log.Append(d.ctx, seq-1, frame) })
		return err
	})
}

// prove gives both readers the frames as they will stand in the store. It holds
// them in memory meanwhile.
func (c *importEvents) prove(d *desk) (p provenBackup, err error) {
	var list [][]byte
	maker, err := c.frames(func(_ uint64, frame []byte) error { list = append(list, frame); return d.ctx.Err() })
	if err != nil {
		return p, err
	}
	f := maker.floor
	if !floorName.MatchString(f.ID) || !currencyCode.MatchString(f.Currency) {
		return p, &prep.InputError{File: c.File, Line: 1, What: "the first event founds no floor", Do: "take the file that packwright export events wrote"}
	}
	p.Header = backup.Header{Floor: f.ID, From: 1, To: uint64(len(list)), Currency: prep.Currency{Code: f.Currency, Digits: c.Digits}}
	p.Sums = backup.Sums{Frames: uint64(len(list)), Events: maker.tree.Size, Root: proof.Hex(maker.tree.Root()), Cells: f.Ledger.Digest()}
	return p, p.rebuild(d, memlog.New(list...))
}

// frames reads the file, makes frames of its lines, and gives them to fn.
func (c *importEvents) frames(fn func(seq uint64, frame []byte) error) (m *framing, err error) {
	f, err := os.Open(c.File)
	if err != nil {
		return nil, err
	}
	m = &framing{floor: workflow.NewFloor(workflow.DefaultPolicy())}
	err = backup.ReadLines(f, func(seq uint64, lines [][]byte) error {
		frame, err := m.frame(seq, lines)
		if err != nil {
			return err
		}
		return fn(seq, frame)
	})
	var in *prep.InputError
	if errors.As(err, &in) {
		in.File = c.File
	}
	return m, errors.Join(err, f.Close())
}

// framing puts headers on frames, as the writer does.
type framing struct {
	floor *workflow.Floor
	tree  proof.Tree
}

func (m *framing) frame(seq uint64, lines [][]byte) ([]byte, error) {
	evs, err := events.DecodeLines(seq, lines)
	if err != nil {
		return nil, err
	}
	h := events.Header{Frame: fmt.Sprintf("import-%d", seq), Size: m.tree.Size, Root: m.tree.Root()}
	for i := range evs {
		if err := m.floor.Apply(&evs[i]); err != nil {
			return nil, fmt.Errorf("event %s: %w", evs[i].Seq, err)
		}
		m.tree.Add(lines[i])
	}
	h.Floor, h.Cells = m.floor.ID, m.floor.Ledger.Digest()
	frame, err := events.EncodeFrame(h, lines)
	if err == nil && len(frame) > events.MaxFrame {
		err = fmt.Errorf("frame %d: %w", seq, events.ErrTooLarge)
	}
	return frame, err
}
