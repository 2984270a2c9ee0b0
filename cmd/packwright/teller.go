package main

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"packwright/cmd/packwright/door"
	"packwright/events"
	"packwright/workflow"
)

// byline says who gives a command, and where that badge stands.
type byline struct {
	Badge   string `env:"PACKWRIGHT_BADGE" required:"" placeholder:"BADGE" help:"Whose badge gives this."`
	Station string `env:"PACKWRIGHT_STATION" default:"BOARD" placeholder:"STATION" help:"At which station (${default})."`
}

// teller gives commands at a station in a badge's name. A badge that is not
// signed in anywhere is signed in for the while.
type teller struct {
	floor  door.Floor
	d      *desk
	by     byline
	epoch  string // of commands without a number of their own
	n      int
	signed bool // by us: signed out again at the end
}

// tellAs reaches the floor and has the badge signed in there.
func (d *desk) tellAs(by byline) (*teller, error) {
	floor, err := d.reach()
	if err != nil {
		return nil, err
	}
	t := &teller{floor: floor, d: d, by: by, epoch: newEpoch("cli")}
	a := t.ask("sign-in", map[string]any{}, events.Keyed)
	if err := a.Err(); err != nil {
		return nil, errors.Join(err, floor.Close())
	}
	t.signed = a.Outcome == workflow.Kept
	return t, nil
}

// ask gives a command under the next number of this run.
func (t *teller) ask(what string, data any, basis events.Basis) door.Answer {
	t.n++
	return t.askAs(t.epoch, t.n, what, data, basis)
}

// askAs gives a command under a number that the caller has made from what it
// asks: the same thing asked again is then already done.
func (t *teller) askAs(epoch string, n int, what string, data any, basis events.Basis) door.Answer {
	id := fmt.Sprintf("%s/%s/%d", t.by.Station, epoch, n)
	body, err := json.Marshal(data)
	if err != nil {
		return door.Troubled(id, err)
	}
	return t.floor.Ask(t.d.ctx, workflow.Command{ID: id, Type: what, Badge: t.by.Badge, Basis: basis, Data: body})
}

// close signs the badge out again if it was signed in for this, and lets go of the floor.
func (t *teller) close() error {
	var err error
	if t.signed {
		d := *t.d
		d.ctx = context.WithoutCancel(d.ctx) // whoever was asked to end signs out first
		t.d = &d
		a := t.ask("sign-out", map[string]any{}, events.Keyed)
		err = a.Err()
	}
	return errors.Join(err, t.floor.Close())
}

// giveOne gives a single command under a number made from what it asks, and says
// how it went.
func (d *desk) giveOne(by byline, what string, data any, about string) error {
	body, err := json.Marshal(data)
	if err != nil {
		return err
	}
	t, err := d.tellAs(by)
	if err != nil {
		return err
	}
	a := t.askAs(epochOf(what, []byte(by.Badge), body), 1, what, json.RawMessage(body), events.Import)
	err = a.Err()
	if err == nil {
		err = d.show(a, func(w io.Writer) { fmt.Fprintf(w, "%s: %s\n", about, a.Outcome) })
	}
	return worse(err, t.close())
}

// epochOf names an outbox after what it holds, so that one file's commands have
// the same numbers whenever they are given.
func epochOf(kind string, contents ...[]byte) string {
	h := sha256.New()
	for _, b := range contents {
		fmt.Fprintf(h, "%d:", len(b))
		h.Write(b)
	}
	return kind + "-" + hex.EncodeToString(h.Sum(nil)[:8])
}

// giveNext gives a single command under a number of its own, for what may be
// meant twice, and shows the events it led to when the badge may see them.
func (d *desk) giveNext(by byline, what string, data any, matter string) error {
	t, err := d.tellAs(by)
	if err != nil {
		return err
	}
	body, err := json.Marshal(data)
	if err != nil {
		return err
	}
	t.n++
	a := t.floor.Ask(d.ctx, workflow.Command{ID: fmt.Sprintf("%s/%s/%d", by.Station, t.epoch, t.n), Type: what, Badge: by.Badge, Basis: events.Keyed, Matter: matter, Data: body})
	if err = a.Err(); err == nil {
		err = d.show(a, func(w io.Writer) { sayAnswer(w, what, a) })
	}
	return worse(err, t.close())
}

// sayAnswer tells an answer in words.
func sayAnswer(w io.Writer, what string, a door.Answer) {
	fmt.Fprintf(w, "%s: %s\n", what, a.Outcome)
	if a.Refusal != nil {
		fmt.Fprintf(w, "%s\t%s\t%s\n", a.Refusal.Code, a.Refusal.Text, a.Refusal.Next)
	}
	for _, line := range a.Events {
		if e, err := events.Decode(line); err == nil {
			b, _ := json.Marshal(e.Data)
			fmt.Fprintf(w, "%s\t%s\n", e.Type(), b)
		}
	}
}
