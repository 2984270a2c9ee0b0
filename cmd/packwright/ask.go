package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"time"

	"packwright/audit"
	"packwright/cmd/packwright/door"
	"packwright/prep"
	"packwright/workflow"
)

// spoken is an answer that can be shown to people.
type spoken interface{ Text(io.Writer) error }

// asked are a question's words by name; one that was not said is empty.
type asked map[string]string

// question is one thing that the audit can be asked. One function answers it,
// on the command line and over HTTP; "at" is understood by all.
type question[T spoken] struct {
	path   string // as http.ServeMux takes it
	about  string
	answer func(view, asked) (T, error)
}

// blank finds the words that stand in a path.
var blank = regexp.MustCompile(`\{(\w+)\}`)

// url is the path with the words filled in, the others as a query.
func (q question[T]) url(say asked) string {
	query := url.Values{}
	path := q.path
	for k, v := range say {
		if strings.Contains(path, "{"+k+"}") {
			path = strings.ReplaceAll(path, "{"+k+"}", url.PathEscape(v))
		} else if v != "" {
			query.Set(k, v)
		}
	}
	if len(query) > 0 {
		path += "?" + query.Encode()
	}
	return path
}

// words is the inverse of url.
func (q question[T]) words(r *http.Request) asked {
	say := asked{}
	for k, v := range r.URL.Query() {
		say[k] = v[0]
	}
	for _, k := range blank.FindAllStringSubmatch(q.path, -1) {
		say[k[1]] = r.PathValue(k[1])
	}
	return say
}

// by answers from an auditor.
func (q question[T]) by(ctx context.Context, a *auditor, say asked) (out T, err error) {
	err = a.look(ctx, say["at"], func(v view) (err error) {
		out, err = q.answer(v, say)
		return unknown(err)
	})
	return out, err
}

// ask asks the hub at --url, or reads the log in --data.
func ask[T spoken](d *desk, q question[T], say asked) (out T, err error) {
	if d.URL != "" {
		web, err := d.web()
		if err != nil {
			return out, err
		}
		err = web.Read(d.ctx, q.url(say), &out)
		return out, heard(err)
	}
	a, err := d.readHere("packwright reading")
	if err != nil {
		return out, err
	}
	out, err = q.by(d.ctx, a, say)
	return out, errors.Join(err, a.log.Close())
}

// tell asks and shows the answer.
func tell[T spoken](d *desk, q question[T], say asked) error {
	out, err := ask(d, q, say)
	if err != nil {
		return err
	}
	return d.say(out)
}

// say shows an answer: as JSON, or in words.
func (d *desk) say(out spoken) error {
	var failed error
	err := d.show(out, func(w io.Writer) { failed = out.Text(w) })
	return errors.Join(err, failed)
}

// readHere reads the log that the settings name; the caller closes its log.
func (d *desk) readHere(program string) (*auditor, error) {
	src, err := d.source(program)
	if err != nil {
		return nil, err
	}
	a := newAuditor(src)
	if err := a.read(d.ctx); err != nil {
		return nil, errors.Join(err, src.Close())
	}
	return a, nil
}

// nothing says that what was asked for is not there: exit code 3, HTTP 404.
func nothing(what, do string) error { return fmt.Errorf("%w: %w", errNothing, prep.Input(what, do)) }

// unknown turns the audit's "no such name" into nothing.
func unknown(err error) error {
	var name *audit.NoSuch
	var mark *audit.NotPrinted
	switch {
	case errors.As(err, &name):
		return nothing(err.Error(), "look at its label, and ask again")
	case errors.As(err, &mark):
		return nothing(err.Error(), "read the label again; if it reads so, it is not ours")
	}
	return err
}

// writeUnknown answers a question over HTTP whose answer failed.
func writeUnknown(w http.ResponseWriter, err error) {
	var in *prep.InputError
	if errors.Is(err, errNothing) && errors.As(err, &in) {
		door.WriteJSON(w, http.StatusNotFound, door.Answer{Outcome: workflow.No, Refusal: &workflow.Refusal{Text: in.What, Next: in.Do}})
		return
	}
	door.WriteTrouble(w, err)
}

// heard is the inverse of writeUnknown.
func heard(err error) error {
	var no *workflow.Refusal
	if errors.As(err, &no) && no.Code == "" {
		return nothing(no.Text, no.Next)
	}
	return err
}

// asking answers questions over HTTP.
type asking struct {
	*auditor
	wait func(context.Context) error // until all that was answered is read
}

// patience is how long a question waits for the auditor.
const patience = 10 * time.Second

// route makes a question a route of the hub.
func route[T spoken](a asking, q question[T]) door.Route {
	return door.Route{Pattern: "GET " + q.path, About: q.about, May: door.Readers, Handle: func(w http.ResponseWriter, r *http.Request) {
		ctx, cancel := context.WithTimeout(r.Context(), patience)
		defer cancel()
		err := a.wait(ctx)
		var out T
		if err == nil {
			out, err = q.by(r.Context(), a.auditor, q.words(r))
		}
		if err != nil {
			writeUnknown(w, err)
			return
		}
		door.WriteJSON(w, http.StatusOK, out)
	}}
}

// routes is the table of all questions.
func (a asking) routes() []door.Route {
	return []door.Route{
		route(a, boardQuestion), route(a, whyQuestion), route(a, optionsQuestion), route(a, whereQuestion), route(a, contentsQuestion),
		route(a, traceQuestion), route(a, traceUnitsQuestion), route(a, siblingsQuestion),
		route(a, claimsQuestion), route(a, claimQuestion), route(a, claimTraceQuestion), route(a, statementQuestion), route(a, weightsQuestion), route(a, replayQuestion),
		route(a, irregularQuestion), route(a, sampleQuestion), route(a, reconcileQuestion),
		route(a, suppliesQuestion), route(a, planQuestion), route(a, planDiffQuestion),
		route(a, dayQuestion),
	}
}
