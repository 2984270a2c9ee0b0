package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"strings"
	"syscall"

	"packwright/cmd/packwright/door"
	"packwright/events"
	"packwright/events/backup"
	"packwright/events/natslog"
	"packwright/prep"
	"packwright/workflow"
)

// The exit codes. They are part of what scripts rely on.
const (
	exitDone    = 0
	exitFailed  = 1 // input or output, or ours
	exitInput   = 2 // the input cannot be read
	exitNo      = 3 // a gate said no, or nothing matches
	exitCorrupt = 4 // the log is not believable
)

// errNothing says that what was asked for is not there: no fault, exit 3.
var errNothing = door.ErrNothing

// usage marks an error of the command line.
func usage(err error) error { return prep.Input(err.Error(), "see packwright --help") }

// worse keeps the error that matters more: the log first, then what must be done
// again, then what must be written anew, then what was refused.
func worse(a, b error) error {
	rank := map[int]int{exitDone: 0, exitNo: 1, exitInput: 2, exitFailed: 3, exitCorrupt: 4}
	if rank[exitOf(b)] > rank[exitOf(a)] {
		return b
	}
	return a
}

// exitOf is the one table from errors to exit codes.
func exitOf(err error) int {
	var no *workflow.Refusal
	var in *prep.InputError
	switch {
	case err == nil:
		return exitDone
	case errors.Is(err, events.ErrCorrupt):
		return exitCorrupt
	case errors.As(err, &no) && no.Code == workflow.Undecided().Code:
		return exitFailed
	case errors.As(err, &no), errors.Is(err, errNothing), errors.Is(err, errTold):
		return exitNo
	case errors.As(err, &in):
		return exitInput
	}
	return exitFailed
}

// errTold ends a command whose refusals have been shown one by one already.
var errTold = errors.New("some were refused")

// advice is what to do about an error that carries none itself, by what it wraps.
var advice = []struct {
	is   error
	next string
}{
	{backup.ErrDamaged, "Take another backup. Nothing was written."},
	{events.ErrCorrupt, "Stop. Keep the directory as it is, and call the owner."},
	{events.ErrLocked, "Ask that hub with --url, or end it first."},
	{events.ErrFenced, "Ask the hub that has the log now."},
	{natslog.ErrFull, "Make room on that disk, then start anew. What was answered is kept; doing again what was not is safe."},
	{events.ErrUnreachable, "What became of it is unknown. Doing the same again is safe."},
	{errNoFloor, "Found one with packwright init, or name its directory with --data."},
	{syscall.EROFS, "Mount that disk for writing. Nothing can be kept there until then."},
	{fs.ErrPermission, "Run it as the user whose directory it is."},
}

// tell writes what went wrong and gives the exit code.
func (d *desk) tell(err error) int {
	code := exitOf(err)
	if code == exitDone || errors.Is(err, errTold) {
		return code
	}
	said := sayings(err)
	if d.JSON {
		b, _ := json.Marshal(map[string]any{"exit": code, "problems": said})
		fmt.Fprintf(d.err, "%s\n", b)
		return code
	}
	for _, s := range said {
		fmt.Fprintln(d.err, "packwright: "+s.shown)
	}
	return code
}

// saying is one thing that went wrong.
type saying struct {
	File string `json:"file,omitempty"`
	Line int    `json:"line,omitempty"`
	Col  int    `json:"col,omitempty"`
	Code string `json:"code,omitempty"`
	Text string `json:"text"`
	Next string `json:"next,omitempty"`

	shown string
}

// sayings takes joined errors apart and puts each into words.
func sayings(err error) []saying {
	if parts := joined(err); parts != nil {
		var out []saying
		for _, e := range parts {
			out = append(out, sayings(e)...)
		}
		return out
	}
	var no *workflow.Refusal
	var in *prep.InputError
	switch {
	case errors.As(err, &no):
		return []saying{{Code: string(no.Code), Text: no.Text, Next: no.Next, shown: err.Error()}}
	case errors.As(err, &in):
		return []saying{{File: in.File, Line: in.Line, Col: in.Col, Text: in.What, Next: in.Do, shown: in.Show()}}
	}
	s := saying{Text: err.Error(), shown: err.Error()}
	for _, a := range advice {
		if errors.Is(err, a.is) {
			s.Next = a.next
			s.shown += "\n" + a.next
			break
		}
	}
	return []saying{s}
}

// joined gives the parts of an error that only puts others side by side: its
// text is theirs, a line each. One that says more than its parts is no such.
func joined(err error) []error {
	many, ok := err.(interface{ Unwrap() []error })
	if !ok {
		return nil
	}
	parts := many.Unwrap()
	texts := make([]string, len(parts))
	for i, e := range parts {
		texts[i] = e.Error()
	}
	if strings.Join(texts, "\n") != err.Error() {
		return nil
	}
	return parts
}
