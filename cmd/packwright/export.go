package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"

	"packwright/events/backup"
	"packwright/workflow/engine"
)

// exportCommand groups what can be taken out of a log.
type exportCommand struct {
	Events exportEvents `cmd:"" help:"Every event, a JSON object a line."`
	CSV    exportCSV    `cmd:"" name:"csv" help:"Tables for a spreadsheet or a database, a file each."`
}

type exportEvents struct {
	Out string `short:"o" default:"-" placeholder:"FILE" help:"Where to; - is standard output (${default})."`
}

// Run writes the lines of all frames, each believed only when it agrees with
// the tree before it.
func (c *exportEvents) Run(d *desk) error {
	src, err := d.source("packwright export events")
	if err != nil {
		return err
	}
	n := int64(0)
	err = d.writeTo(c.Out, func(w io.Writer) (err error) {
		n, err = backup.WriteLines(d.ctx, w, src, src.about.Floor)
		return err
	})
	if err == nil && c.Out != "-" {
		err = d.show(map[string]any{"events": n, "file": c.Out}, func(w io.Writer) { fmt.Fprintf(w, "%d events to %s\n", n, c.Out) })
	}
	return errors.Join(err, src.Close())
}

// writeTo writes a file whole or not at all, or to standard output.
func (d *desk) writeTo(name string, write func(io.Writer) error) error {
	if name == "-" {
		w := bufio.NewWriterSize(d.out, 1<<16)
		return errors.Join(write(w), w.Flush())
	}
	return engine.WriteWhole(name, write)
}
