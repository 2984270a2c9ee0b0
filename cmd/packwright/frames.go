package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"

	"packwright/cmd/packwright/door"
	"packwright/events"
	"packwright/events/natslog"
)

// logSource is a log to read and whose floor's it is.
type logSource struct {
	events.Log
	about founded
}

// source opens the log that the settings name. No engine runs on it: nothing
// is written but the note of who holds the directory.
func (d *desk) source(program string) (logSource, error) {
	if d.URL == "" {
		at := place(d.Data)
		about, err := at.founded()
		if err != nil {
			return logSource{}, err
		}
		cfg := about.keeping(at)
		cfg.Program = program
		return d.openStore(about, cfg)
	}
	web, err := d.web()
	if err != nil {
		return logSource{}, err
	}
	var about founded
	if err := web.Read(d.ctx, "/floor", &about); err != nil {
		return logSource{}, err
	}
	return logSource{webLog{web}, about}, nil
}

// openStore opens where a floor's log is kept, or a copy of it.
func (d *desk) openStore(about founded, cfg natslog.Config) (logSource, error) {
	if _, err := os.Stat(cfg.Dir); cfg.Dir != "" && errors.Is(err, fs.ErrNotExist) {
		return logSource{}, fmt.Errorf("%w: the floor %s was founded in %s, and its store is gone", events.ErrCorrupt, about.Floor, place(d.Data))
	}
	cfg.Logger = d.log
	log, err := natslog.Open(d.ctx, cfg)
	return logSource{log, about}, err
}

// framePage is part of a log as a hub gives it.
type framePage struct {
	Frames [][]byte `json:"frames"` // in order, the first is the one asked for; base64
	Last   uint64   `json:"last"`   // of the log when this was read
}

// webLog reads a hub's log page by page. It cannot be written.
type webLog struct{ web *door.WebClient }

var _ events.Log = webLog{}

func (l webLog) page(ctx context.Context, from uint64) (p framePage, err error) {
	err = l.web.Read(ctx, fmt.Sprintf("/frames?from=%d", from), &p)
	return p, err
}

// Last gives the hub's last frame.
func (l webLog) Last(ctx context.Context) (uint64, error) {
	p, err := l.page(ctx, math.MaxUint64)
	return p.Last, err
}

// Read gives one frame.
func (l webLog) Read(ctx context.Context, seq uint64) ([]byte, error) {
	p, err := l.page(ctx, seq)
	if err == nil && len(p.Frames) == 0 {
		err = fmt.Errorf("frame %d: %w", seq, events.ErrNotFound)
	}
	if err != nil {
		return nil, err
	}
	return p.Frames[0], nil
}

// Scan ends at what was last when it began.
func (l webLog) Scan(ctx context.Context, from uint64, fn func(seq uint64, frame []byte) error) error {
	last, begun := uint64(0), false
	for next := from; !begun || next <= last; {
		p, err := l.page(ctx, next)
		if err != nil {
			return err
		}
		if !begun {
			last, begun = p.Last, true
		}
		if len(p.Frames) == 0 && next <= last {
			return fmt.Errorf("%w: the hub has %d frames and gives none from %d on", events.ErrCorrupt, last, next)
		}
		for _, frame := range p.Frames {
			if next > last {
				return nil
			}
			if err := fn(next, frame); err != nil {
				return err
			}
			next++
		}
	}
	return nil
}

// Append is not for readers.
func (webLog) Append(context.Context, uint64, []byte) error { return errors.ErrUnsupported }

// Follow is not for the command line.
func (webLog) Follow(context.Context, uint64, func(uint64, []byte) error) error {
	return errors.ErrUnsupported
}

// Close lets go of the hub.
func (l webLog) Close() error { return l.web.Close() }

// Bounds of one page.
const (
	pageFrames = 512
	pageBytes  = 8 << 20
)

// errFull ends a reading where no more is wanted.
var errFull = errors.New("that is enough")

// readPage reads part of a log.
func readPage(ctx context.Context, log events.Log, from uint64) (framePage, error) {
	page := framePage{Frames: [][]byte{}}
	var err error
	if page.Last, err = log.Last(ctx); err != nil {
		return page, err
	}
	if from > page.Last {
		return page, nil
	}
	size := 0
	err = log.Scan(ctx, max(from, 1), func(_ uint64, frame []byte) error {
		page.Frames = append(page.Frames, frame)
		if size += len(frame); size >= pageBytes || len(page.Frames) == pageFrames {
			return errFull
		}
		return nil
	})
	if errors.Is(err, errFull) {
		err = nil
	}
	return page, err
}
