package main

import (
	"bytes"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"packwright/cmd/packwright/printing"
	"packwright/prep"
	"packwright/prep/label"
)

// labelOut is how labels leave.
type labelOut struct {
	DPI     int    `name:"dpi" env:"PACKWRIGHT_DPI" placeholder:"N" help:"The printer's dots an inch: 203, 300, 600 (203; on sheets of paper 600)."`
	Format  string `enum:"pdf,png," default:"" help:"pdf, or png with one bit a dot (by the name of --out, else pdf)."`
	Out     string `short:"o" placeholder:"FILE" help:"Where to; - is standard output. Of several pages each PNG gets a file: FILE-1.png."`
	Print   bool   `help:"Send it to the printer by the system's lp."`
	Printer string `env:"PACKWRIGHT_PRINTER" placeholder:"NAME" help:"Which printer; none: the system's own choice."`
	Copies  int    `default:"1" help:"How many of each (${default})."`
}

// painted is what a label command tells.
type painted struct {
	Label string   `json:"label"`
	DPI   int      `json:"dpi"`
	Pages int      `json:"pages"`
	Says  []string `json:"says,omitempty"` // what the symbols carry
	Files []string `json:"files,omitempty"`
	Jobs  []string `json:"jobs,omitempty"` // what the printing system answered
	Notes string   `json:"notes,omitempty"`
}

func (o *labelOut) paint(d *desk, all ...label.Label) error {
	return o.paintSaying(d, func(io.Writer) {}, all...)
}

// paintSaying paints labels and says something more about them.
func (o *labelOut) paintSaying(d *desk, say func(io.Writer), all ...label.Label) error {
	pages, err := o.layouts(all)
	if err != nil {
		return err
	}
	return o.leave(d, pages, say)
}

func (o *labelOut) dots() int {
	if o.DPI == 0 {
		return 203
	}
	return o.DPI
}

func (o *labelOut) layouts(all []label.Label) ([]label.Layout, error) {
	return printing.Lay(o.dots(), all...)
}

// leave writes the pages, prints them, and says so.
func (o *labelOut) leave(d *desk, pages []label.Layout, say func(io.Writer)) error {
	if o.Out == "" && !o.Print {
		return prep.Input("nowhere to put it", "give --out FILE, or --print")
	}
	if o.Copies < 1 || o.Copies > 1000 {
		return prep.Input(fmt.Sprintf("%d copies", o.Copies), "print 1 to 1000")
	}
	var notes bytes.Buffer
	say(&notes)
	r := painted{Label: pages[0].Title, DPI: pages[0].DPI, Pages: len(pages), Notes: strings.TrimSpace(notes.String())}
	for _, p := range pages {
		r.Says = append(r.Says, p.Says()...)
	}
	err := o.write(d, pages, &r)
	if err == nil && o.Print {
		err = o.print(d, pages, &r)
	}
	if err != nil || o.Out == "-" {
		return err // the bytes are all there is to say
	}
	return d.show(r, r.text)
}

func (r painted) text(w io.Writer) {
	fmt.Fprintf(w, "%s, %s at %d dpi\n", r.Label, plural(r.Pages, "page"), r.DPI)
	for _, f := range r.Files {
		fmt.Fprintf(w, "in %s\n", f)
	}
	for _, j := range r.Jobs {
		fmt.Fprintln(w, j)
	}
	if r.Notes != "" {
		fmt.Fprintln(w, r.Notes)
	}
}

func plural(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// format is the one that was asked for, or that the file's name says.
func (o *labelOut) format() string {
	switch {
	case o.Format != "":
		return o.Format
	case strings.EqualFold(filepath.Ext(o.Out), ".png"):
		return "png"
	}
	return "pdf"
}

func (o *labelOut) write(d *desk, pages []label.Layout, r *painted) error {
	if o.Out == "" {
		return nil
	}
	if o.format() == "png" {
		return o.writePNG(d, pages, r)
	}
	b, err := label.PDF(pages)
	if err != nil {
		return err
	}
	r.Files = append(r.Files, o.Out)
	return d.writeTo(o.Out, func(w io.Writer) error { _, err := w.Write(b); return err })
}

func (o *labelOut) writePNG(d *desk, pages []label.Layout, r *painted) error {
	if len(pages) > 1 && o.Out == "-" {
		return prep.Input(fmt.Sprintf("%d PNGs do not go into one stream", len(pages)), "give --out FILE, or --format pdf")
	}
	for i, p := range pages {
		name := o.Out
		if len(pages) > 1 {
			ext := filepath.Ext(name)
			name = fmt.Sprintf("%s-%d%s", strings.TrimSuffix(name, ext), i+1, ext)
		}
		b, err := label.PNG(p)
		if err != nil {
			return err
		}
		if err := d.writeTo(name, func(w io.Writer) error { _, err := w.Write(b); return err }); err != nil {
			return err
		}
		r.Files = append(r.Files, name)
	}
	return nil
}

// print hands the pages to the system's printer.
func (o *labelOut) print(d *desk, pages []label.Layout, r *painted) (err error) {
	r.Jobs, err = printing.Printer{Name: o.Printer}.Send(d.ctx, pages, printing.Job{Copies: o.Copies, PNG: o.format() == "png"})
	return err
}
