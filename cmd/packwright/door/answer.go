package door

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strings"

	"packwright/events"
	"packwright/prep"
	"packwright/workflow"
	"packwright/workflow/engine"
)

// Answer is what an asker hears, through any door.
type Answer struct {
	ID      string            `json:"id,omitempty"`
	Outcome workflow.Outcome  `json:"outcome,omitempty"` // none: not answered; send it again under its id
	Seq     *Place            `json:"seq,omitempty"`     // of the command's first event
	Root    string            `json:"root,omitempty"`    // the log's root after Frame
	Frame   uint64            `json:"frame,omitempty"`
	Era     string            `json:"era,omitempty"` // of frame and root, once an older log was put back
	Refusal *workflow.Refusal `json:"refusal,omitempty"`
	Error   *Trouble          `json:"error,omitempty"`
	Events  []json.RawMessage `json:"events,omitempty"` // lines as in the log; for supervisor and above
}

// Place is a place in the log as [frame, index].
type Place [2]uint64

// Trouble is what is wrong when it is no shut gate.
type Trouble struct {
	Kind string `json:"kind"` // one of the Trouble… words
	Text string `json:"text"`
	Next string `json:"next,omitempty"`
}

// The kinds of trouble.
const (
	TroubleInput   = "input"   // the command cannot be read; sent again unchanged, it never will be
	TroubleAway    = "away"    // nothing was answered; send it again under its id
	TroubleFenced  = "fenced"  // another writer has the log; ask that one
	TroubleCorrupt = "corrupt" // the log is not believable: stop
	TroubleNothing = "nothing" // nothing matches what was asked to be read
	TroubleHub     = "hub"     // ours
)

// ErrNothing: nothing matches what was asked to be read. It is no fault.
var ErrNothing = errors.New("nothing matches")

// Answered says that the hub has decided: the command can leave the outbox.
func (a *Answer) Answered() bool { return a.Outcome != "" }

// given turns what the engine gave into an answer. Events are left out.
func given(id string, got engine.Answer, err error) Answer {
	a := Answer{ID: id, Outcome: got.Outcome, Root: got.Root, Frame: got.Frame, Era: got.Era, Refusal: got.Refusal}
	if got.Seq != nil {
		a.Seq = &Place{got.Seq.Frame, uint64(got.Seq.Index)}
	}
	if err == nil {
		return a
	}
	return troubled(id, err)
}

// Troubled tells an error in place of the answer to a command.
func Troubled(id string, err error) Answer { return troubled(id, err) }

func troubled(id string, err error) Answer {
	var in *prep.InputError
	switch {
	case errors.Is(err, events.ErrCorrupt):
		return Answer{ID: id, Error: &Trouble{TroubleCorrupt, err.Error(), "Stop. Keep everything as it is and call the owner."}}
	case errors.Is(err, events.ErrFenced):
		return Answer{ID: id, Refusal: workflow.Away(), Error: &Trouble{TroubleFenced, err.Error(), "Ask the hub that has the log now."}}
	case errors.Is(err, ErrNothing):
		return Answer{ID: id, Error: &Trouble{Kind: TroubleNothing, Text: strings.TrimPrefix(err.Error(), ErrNothing.Error()+": ")}}
	case errors.As(err, &in):
		return Answer{ID: id, Outcome: workflow.No, Error: &Trouble{TroubleInput, in.What, in.Do}}
	case errors.Is(err, engine.ErrBusy), errors.Is(err, events.ErrUnreachable), errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded):
		return Answer{ID: id, Refusal: workflow.Away(), Error: &Trouble{TroubleAway, err.Error(), "Send it again under the same id."}}
	}
	return Answer{ID: id, Error: &Trouble{TroubleHub, err.Error(), "Send it again under the same id, or call the owner."}}
}

// Status gives the answer's HTTP status, which is its code on the bus too.
func (a *Answer) Status() int {
	switch {
	case a.Error != nil && a.Error.Kind == TroubleInput:
		return http.StatusBadRequest
	case a.Error != nil && a.Error.Kind == TroubleNothing:
		return http.StatusNotFound
	case a.Error != nil && (a.Error.Kind == TroubleAway || a.Error.Kind == TroubleFenced):
		return http.StatusServiceUnavailable
	case a.Error != nil, a.Refusal != nil && a.Refusal.Code == workflow.Undecided().Code:
		return http.StatusInternalServerError
	case a.Outcome == workflow.No:
		return http.StatusConflict
	}
	return http.StatusOK
}

// Err turns an answer back into an error: nil when it is kept, already or call;
// a *workflow.Refusal for no; a *prep.InputError; or one that wraps the events
// error that the hub met.
func (a *Answer) Err() error {
	switch {
	case a.Error != nil:
		return a.Error.err(a.ID)
	case a.Outcome == workflow.No && a.Refusal != nil:
		return a.Refusal
	case !a.Answered():
		return fmt.Errorf("%s: %w: an answer without an outcome", a.ID, events.ErrUnreachable)
	}
	return nil
}

func (t *Trouble) err(id string) error {
	switch t.Kind {
	case TroubleInput:
		return prep.Input(t.Text, t.Next)
	case TroubleNothing:
		return fmt.Errorf("%w: %s", ErrNothing, t.Text)
	case TroubleAway:
		return &told{id + ": " + t.Text, events.ErrUnreachable}
	case TroubleFenced:
		return &told{id + ": " + t.Text, events.ErrFenced}
	case TroubleCorrupt:
		return &told{t.Text, events.ErrCorrupt}
	}
	return fmt.Errorf("%s: the hub says: %s", id, t.Text)
}

// told is an error that crossed a door: its text, and the sentinel it stood for.
type told struct {
	text string
	is   error
}

func (e *told) Error() string { return e.text }
func (e *told) Unwrap() error { return e.is }
