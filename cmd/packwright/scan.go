package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strings"
	"time"

	"packwright/cmd/packwright/door"
	"packwright/events"
	"packwright/workflow"
)

// scanCommand is a bench without a screen: what its reader types comes in line
// by line, a sentence goes out for each. A refusal is an answer like any other;
// the exit code stays 0.
type scanCommand struct {
	Station string `required:"" env:"PACKWRIGHT_STATION" placeholder:"STATION" help:"Which bench this is."`
}

// scanning takes one scan and gives what the bench says.
type scanning func(ctx context.Context, in typed) (workflow.Said, error)

// Run reads scans until the end of the input.
func (c *scanCommand) Run(d *desk) (err error) {
	scan, closer, err := c.bench(d)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, closer.Close()) }()
	lines := bufio.NewScanner(d.in)
	session, n := newEpoch("line"), uint64(0)
	for lines.Scan() {
		raw := strings.TrimRight(lines.Text(), "\r")
		if strings.TrimSpace(raw) == "" {
			continue
		}
		n++
		said, err := scan(d.ctx, typed{Session: session, N: n, Raw: raw})
		if err != nil {
			return err
		}
		if err := c.say(d, raw, said); err != nil {
			return err
		}
	}
	return lines.Err()
}

// bench reaches the bench's reading machine: the hub's, or one of this process.
func (c *scanCommand) bench(d *desk) (scanning, io.Closer, error) {
	if d.URL != "" {
		web, err := d.web()
		if err != nil {
			return nil, nil, err
		}
		at := strings.TrimRight(web.URL, "/") + "/scan/" + url.PathEscape(c.Station)
		return func(ctx context.Context, in typed) (workflow.Said, error) { return scanThere(ctx, at, in) }, web, nil
	}
	h, err := d.open("packwright scan")
	if err != nil {
		return nil, nil, err
	}
	h.benches = newScanners(door.Local{Writer: h.writer}, h.writer, time.Now, h.place.benches())
	x, err := h.benches.of(d.ctx, c.Station)
	if err != nil {
		return nil, nil, errors.Join(err, h.Close())
	}
	return x.scan, h, nil
}

// scanThere sends a scan to a hub, again under its number while there is no answer.
func scanThere(ctx context.Context, at string, in typed) (said workflow.Said, err error) {
	body, err := json.Marshal(in)
	if err != nil {
		return said, err
	}
	ctx, cancel := context.WithTimeout(ctx, door.Patience)
	defer cancel()
	for {
		if said, err = post(ctx, at, body); !errors.Is(err, events.ErrUnreachable) {
			return said, err
		}
		select {
		case <-ctx.Done():
			return said, err
		case <-time.After(200 * time.Millisecond):
		}
	}
}

func post(ctx context.Context, at string, body []byte) (said workflow.Said, err error) {
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, at, bytes.NewReader(body))
	if err != nil {
		return said, err
	}
	req.Header.Set("Content-Type", "application/json")
	resp, err := http.DefaultClient.Do(req)
	if err != nil {
		return said, fmt.Errorf("%w: %w", events.ErrUnreachable, err)
	}
	defer resp.Body.Close()
	got, err := io.ReadAll(io.LimitReader(resp.Body, 64<<10))
	if err != nil {
		return said, fmt.Errorf("%w: %w", events.ErrUnreachable, err)
	}
	if resp.StatusCode < 400 {
		err = json.Unmarshal(got, &said)
		return said, err
	}
	var a door.Answer
	if err := json.Unmarshal(got, &a); err != nil || a.Error == nil && a.Refusal == nil {
		return said, fmt.Errorf("the hub answers %d: %.200s", resp.StatusCode, bytes.TrimSpace(got))
	}
	return said, heard(a.Err())
}

// say writes one sentence: its tone first, then both lines.
func (c *scanCommand) say(d *desk, raw string, said workflow.Said) error {
	if d.JSON {
		b, err := json.Marshal(struct {
			Scan string `json:"scan"`
			workflow.Said
		}{raw, said})
		if err == nil {
			_, err = fmt.Fprintf(d.out, "%s\n", b)
		}
		return err
	}
	tone := string(said.Outcome)
	if tone == "" {
		tone = "-"
	}
	parts := []string{fmt.Sprintf("%-7s", tone)}
	for _, s := range []string{string(said.Code), said.Text, said.Next} {
		if s != "" {
			parts = append(parts, s)
		}
	}
	_, err := fmt.Fprintln(d.out, strings.Join(parts, " "))
	return err
}
