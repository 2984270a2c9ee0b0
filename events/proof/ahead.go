package proof

import (
	"context"
	"fmt"

	"golang.org/x/mod/sumdb/tlog"

	"packwright/events"
)

// Page is a frame taken apart. Nothing of it is believed until [Chain.Turn].
type Page struct {
	Seq    uint64
	Header events.Header
	Events []events.Event
	Lines  [][]byte // as they stand in the log
	leaves []tlog.Hash
}

// Open takes a frame apart: header, leaves of the tree, events. It needs to know
// nothing of the frames before. Errors wrap events.ErrCorrupt and name the frame.
func Open(seq uint64, frame []byte) (Page, error) {
	h, lines, err := events.SplitFrame(frame)
	if err != nil {
		return Page{}, fmt.Errorf("frame %d: %w", seq, err)
	}
	p := Page{Seq: seq, Header: h, Lines: lines, leaves: make([]tlog.Hash, len(lines))}
	for i, l := range lines {
		p.leaves[i] = tlog.RecordHash(l)
	}
	if p.Events, err = events.DecodeLines(seq, lines); err != nil {
		return Page{}, fmt.Errorf("frame %d: %w", seq, err)
	}
	return p, nil
}

// Turn believes a page when it follows the one before; see [Chain.Take].
func (c *Chain) Turn(p Page) error {
	if err := c.follows(p.Seq, p.Header); err != nil {
		return err
	}
	for _, h := range p.leaves {
		c.Tree.AddLeaf(h)
	}
	c.Next++
	return nil
}

// pagesAhead is how many pages may wait for their reader.
const pagesAhead = 64

// Ahead scans a log from a sequence to its present end and calls fn with each
// page, in order, while the pages after it are opened on another goroutine. It
// ends with fn's error, or with the log's after all good pages before it.
func Ahead(ctx context.Context, log events.Log, from uint64, fn func(Page) error) error {
	ctx, cancel := context.WithCancel(ctx)
	pages, ended := make(chan Page, pagesAhead), make(chan error, 1)
	go func() {
		defer close(pages)
		ended <- log.Scan(ctx, from, func(seq uint64, frame []byte) error {
			p, err := Open(seq, frame)
			if err != nil {
				return err
			}
			select {
			case pages <- p:
				return nil
			case <-ctx.Done():
				return ctx.Err()
			}
		})
	}()
	var failed error
	for p := range pages {
		if failed != nil {
			continue // the scan is about to end
		}
		if failed = fn(p); failed != nil {
			cancel()
		}
	}
	cancel()
	if err := <-ended; failed == nil {
		failed = err
	}
	return failed
}
