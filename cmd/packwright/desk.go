package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"text/tabwriter"
	"time"

	"github.com/cheggaaa/pb/v3"
	"github.com/mattn/go-isatty"
	"github.com/rs/zerolog"
)

// streams are the three a process has.
type streams struct {
	in       io.Reader
	out, err io.Writer
}

// desk is what every command works with.
type desk struct {
	*streams
	*settings
	ctx context.Context // done when the process was asked to end
	log zerolog.Logger
}

func newDesk(ctx context.Context, s *streams, c *settings) *desk {
	level, err := zerolog.ParseLevel(c.Log)
	if err != nil {
		level = zerolog.InfoLevel
	}
	var w io.Writer = s.err
	if terminal(s.err) {
		w = zerolog.ConsoleWriter{Out: s.err, TimeFormat: time.TimeOnly}
	}
	return &desk{streams: s, settings: c, ctx: ctx, log: zerolog.New(w).Level(level).With().Timestamp().Logger()}
}

// terminal says whether somebody watches a stream.
func terminal(w any) bool {
	f, ok := w.(*os.File)
	return ok && isatty.IsTerminal(f.Fd())
}

// show writes a command's result: v with --json, else what say writes.
func (d *desk) show(v any, say func(io.Writer)) error {
	if d.JSON {
		enc := json.NewEncoder(d.out)
		enc.SetEscapeHTML(false)
		return enc.Encode(v)
	}
	w := tabwriter.NewWriter(d.out, 0, 0, 2, ' ', 0)
	say(w)
	return w.Flush()
}

// warn says something that stops nothing.
func (d *desk) warn(format string, args ...any) {
	fmt.Fprintf(d.err, "note: "+format+"\n", args...)
}

// progress counts long work on a terminal; into a file it says nothing. Call
// step for each of n, and finish at the end.
func (d *desk) progress(n int, what string) (step, finish func()) {
	if n < 50 || d.JSON || !terminal(d.err) {
		return func() {}, func() {}
	}
	bar := pb.New(n).SetWriter(d.err).Set("prefix", what+" ")
	bar.Start()
	return func() { bar.Increment() }, func() { bar.Finish() }
}

// readFile reads a named file, or standard input for "-".
func (d *desk) readFile(name string) ([]byte, error) {
	if name == "-" {
		return io.ReadAll(d.in)
	}
	return os.ReadFile(name)
}
