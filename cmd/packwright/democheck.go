package main

import (
	"fmt"
	"io"
	"strings"
	"time"

	"packwright/audit"
)

// checked is one thing the day must come to.
type checked struct {
	Name string `json:"name"`
	Want string `json:"want"`
	Got  string `json:"got"`
	OK   bool   `json:"ok"`
}

// checkedDay is all of them.
type checkedDay struct {
	OK     bool      `json:"ok"`
	Events int64     `json:"events"`
	Took   string    `json:"took,omitempty"`
	Checks []checked `json:"checks"`
}

// checker gathers comparisons.
type checker struct{ list []checked }

// want compares what was expected with what is, both as people would write them.
func (k *checker) want(name string, want, got any) {
	w, g := fmt.Sprint(want), fmt.Sprint(got)
	k.list = append(k.list, checked{name, w, g, w == g})
}

// fails notes that a thing could not be looked at.
func (k *checker) fails(name string, err error) bool {
	if err != nil {
		k.list = append(k.list, checked{name, "an answer", err.Error(), false})
	}
	return err != nil
}

// check compares the day with its golden answers and prints each. A difference
// ends with exit code 1: the program, or the day, is not what it should be.
func (f *demoFloor) check(d *desk, began time.Time) error {
	k := &checker{}
	a := &auditor{log: f.log, reader: f.books.Follower}
	for _, part := range []func(*desk, *checker, *auditor) error{f.checkCounts, f.checkTrace, f.checkSiblings, f.checkMinute, f.checkEnd, f.checkMatters, f.checkClaims, f.checkLog} {
		if err := part(d, k, a); err != nil {
			return err
		}
	}
	day := checkedDay{OK: true, Events: f.writer.Head().Size, Took: time.Since(began).Round(10 * time.Millisecond).String(), Checks: k.list}
	wrong := 0
	for _, c := range k.list {
		if !c.OK {
			day.OK = false
			wrong++
		}
	}
	if err := d.say(day); err != nil {
		return err
	}
	if wrong > 0 {
		return fmt.Errorf("%d of %d answers of the day differ", wrong, len(k.list))
	}
	return nil
}

// Text writes a line for each check; a difference shows both sides.
func (c checkedDay) Text(w io.Writer) error {
	b := &strings.Builder{}
	wrong := 0
	for _, x := range c.Checks {
		if x.OK {
			fmt.Fprintf(b, "ok    %s: %s\n", x.Name, x.Got)
			continue
		}
		wrong++
		fmt.Fprintf(b, "WRONG %s\n      expected %s\n      got      %s\n", x.Name, x.Want, x.Got)
	}
	fmt.Fprintf(b, "%d checks, %d differ; %d events, played and checked in %s\n", len(c.Checks), wrong, c.Events, c.Took)
	_, err := io.WriteString(w, b.String())
	return err
}

// at asks what the floor knew at a moment of the day, or at its end.
func at[T spoken](d *desk, a *auditor, q question[T], say asked) (T, error) {
	return q.by(d.ctx, a, say)
}

// inside gives one carton as it stood at a moment.
func inside(d *desk, a *auditor, carton, moment string) (c audit.Contents, err error) {
	err = a.look(d.ctx, moment, func(v view) error {
		got, ok := v.Contents(carton)
		if !ok {
			return &audit.NoSuch{Kind: "carton", Name: carton}
		}
		c = got
		return nil
	})
	return c, err
}
