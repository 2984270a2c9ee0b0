// Package printing is what the commands and the pages print alike: it makes labels of
// what the floor knows, and hands pages to the system's printer.
//
//	printer.go   lp, at true size
//	contents.go  the sheet of a counted carton
//	codes.go     codes of the floor's own: totes, benches, badges
//	cards.go     the cards of a bench
//	run.go       the labels of a run that lie about
//
// It keeps nothing and decides nothing: that something was printed is told to the
// floor by whoever asks for it here.
package printing

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os/exec"
	"slices"
	"strings"

	"packwright/prep"
	"packwright/prep/label"
)

// Printer is a printer of the system's.
type Printer struct{ Name string } // empty: the system's own choice

// Job says how pages are printed.
type Job struct {
	Copies int  // of each page
	PNG    bool // as pictures with one bit a dot, else as PDF
}

// Lay makes the pages of labels at a printer's dots an inch. Errors:
// *prep.InputError, when something does not fit.
func Lay(dpi int, all ...label.Label) (pages []label.Layout, err error) {
	for _, x := range all {
		some, err := x.Pages(dpi)
		if err != nil {
			return nil, err
		}
		pages = append(pages, some...)
	}
	return pages, nil
}

// Send gives lp one job for each row of pages of one size, at true size, and says
// what it answered to each.
func (p Printer) Send(ctx context.Context, pages []label.Layout, job Job) (jobs []string, err error) {
	for len(pages) > 0 {
		n := slices.IndexFunc(pages, func(x label.Layout) bool { return x.Width != pages[0].Width || x.Height != pages[0].Height })
		if n < 0 {
			n = len(pages)
		}
		if job.PNG {
			n = 1
		}
		answer, err := p.lp(ctx, pages[:n], job)
		if err != nil {
			return jobs, err
		}
		jobs, pages = append(jobs, answer), pages[n:]
	}
	return jobs, nil
}

func (p Printer) lp(ctx context.Context, pages []label.Layout, job Job) (string, error) {
	first := pages[0]
	args := []string{"-t", first.Title, "-n", fmt.Sprint(job.Copies), "-o", "print-scaling=none",
		"-o", fmt.Sprintf("media=Custom.%sx%s", inchesOf(first.Width), inchesOf(first.Height)) + "in"}
	if p.Name != "" {
		args = append(args, "-d", p.Name)
	}
	b, err := label.PDF(pages)
	if job.PNG {
		args = append(args, "-o", fmt.Sprintf("ppi=%d", first.DPI))
		b, err = label.PNG(first)
	}
	if err != nil {
		return "", err
	}
	cmd := exec.CommandContext(ctx, "lp", args...)
	cmd.Stdin = bytes.NewReader(b)
	answer, err := cmd.CombinedOutput()
	if errors.Is(err, exec.ErrNotFound) {
		return "", fmt.Errorf("print: there is no lp here: install your system's printing client, or print the PDF at true size (%w)", err)
	}
	if err != nil {
		return "", fmt.Errorf("print %s: %w: %s", first.Title, err, bytes.TrimSpace(answer))
	}
	return string(bytes.TrimSpace(answer)), nil
}

// inchesOf is a length as the printing system wants it.
func inchesOf(l prep.Length) string { return strings.TrimSuffix(l.InchString(), " in") }
