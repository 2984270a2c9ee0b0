package main

import (
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

	"packwright/audit"
	"packwright/cmd/packwright/door"
	"packwright/events"
	"packwright/events/proof"
	"packwright/prep"
)

// claimEvidence writes what the floor can show about a claim as one file, which
// packwright verify FILE --key PUB checks on a machine that has nothing else.
type claimEvidence struct {
	Claim string `arg:"" help:"The claim: CL-02."`
	Out   string `short:"o" default:"-" placeholder:"FILE" help:"Where to; - is standard output (${default})."`
	Plans bool   `name:"with-plans" help:"Also the events of plans. They name other cartons and owners."`
}

// evidenceMade is what the command tells when the file is written.
type evidenceMade struct {
	File   string     `json:"file"`
	Key    string     `json:"key"`
	Events int        `json:"events"`
	Head   *notedHead `json:"head"`
}

// Run has the evidence made by the hub, or makes it from the directory, and
// checks it before it is given away.
func (c *claimEvidence) Run(d *desk) error {
	file, key, err := c.file(d)
	if err != nil {
		return err
	}
	v, err := proof.Check(file, key)
	if err != nil {
		return fmt.Errorf("the evidence that was made does not hold: %w", err)
	}
	if c.Out == "-" {
		_, err = d.out.Write(file)
		return err
	}
	if err := writeWhole(c.Out, file); err != nil {
		return err
	}
	made := evidenceMade{c.Out, key, len(v.Events), &notedHead{Frame: v.Head.Frame, Size: v.Head.Size, Root: proof.Hex(v.Head.Root)}}
	return d.show(made, func(w io.Writer) {
		fmt.Fprintf(w, "%s: %d events about %s, proven in the head of frame %d (%d events, root %.16s)\n", c.Out, made.Events, c.Claim, made.Head.Frame, made.Head.Size, made.Head.Root)
		fmt.Fprintf(w, "Whoever has the floor's public key can check it anywhere:\n  packwright verify %s --key %s\n", c.Out, key)
	})
}

// file makes the evidence; key is the floor's public one.
func (c *claimEvidence) file(d *desk) (file []byte, key string, err error) {
	if d.URL != "" {
		web, err := d.web()
		if err != nil {
			return nil, "", err
		}
		var about founded
		if err := web.Read(d.ctx, "/floor", &about); err != nil {
			return nil, "", err
		}
		path := "/claim/" + url.PathEscape(c.Claim) + "/evidence"
		if c.Plans {
			path += "?plans=1"
		}
		file, err = web.Make(d.ctx, path)
		return file, about.Key, heard(err)
	}
	h, err := d.open("packwright claim evidence")
	if err != nil {
		return nil, "", err
	}
	defer func() { err = errors.Join(err, h.Close()) }()
	heads := h.signing(d.log)
	a := newAuditor(h.log)
	file, err = heads.evidence(d.ctx, a, c.Claim, evidenceHow{plans: c.Plans, through: heads, now: time.Now, read: func(ctx context.Context) error { return a.read(ctx) }})
	return file, h.about.Key, err
}

// evidenceHow is how evidence is made.
type evidenceHow struct {
	plans   bool
	through door.Floor                  // where the newest head is given to be kept
	now     func() time.Time            //
	read    func(context.Context) error // has the auditor read up to it
}

// evidence signs the newest head and shows the claim in it.
func (s *signing) evidence(ctx context.Context, a *auditor, claim string, how evidenceHow) ([]byte, error) {
	if s.key == nil {
		return nil, prep.Input("the key that signs this floor's heads is not at hand", "put its file back where floor.json says; evidence is sealed with it")
	}
	if err := how.read(ctx); err != nil {
		return nil, err
	}
	if err := a.look(ctx, "", func(v view) error { _, err := v.Claim(claim); return unknown(err) }); err != nil {
		return nil, err // before anything is signed
	}
	if err := s.sign(ctx, how.through); err != nil {
		return nil, err
	}
	if err := how.read(ctx); err != nil {
		return nil, err
	}
	e := &proof.Evidence{Log: s.key.Name(), About: claim, Made: events.At(how.now())}
	var rests *audit.Rests
	err := a.look(ctx, "", func(v view) (err error) {
		if rests, err = v.RestsOf(claim, how.plans); err != nil {
			return unknown(err)
		}
		e.Head, e.Earlier = headsFor(v.Heads())
		e.Answers, err = answersOf(v, claim)
		return err
	})
	if err != nil {
		return nil, err
	}
	if err := e.Fill(ctx, a.log, rests.Concerns); err != nil {
		return nil, err
	}
	var b bytes.Buffer
	err = e.Write(&b, s.key)
	return b.Bytes(), err
}

// earlierHeads is how many heads that were signed before evidence leads on from:
// the first ones, and the newest.
const earlierHeads = 64

// headsFor takes the newest head, and those before it that may stand on paper.
func headsFor(all []audit.HeadView) (newest events.HeadSigned, earlier []proof.EarlierHead) {
	if len(all) == 0 {
		return newest, nil
	}
	last := len(all) - 1
	for i, h := range all[:last] {
		if i < earlierHeads/2 || i >= last-earlierHeads/2 {
			earlier = append(earlier, proof.EarlierHead{Head: h.HeadSigned})
		}
	}
	return all[last].HeadSigned, earlier
}

// sayings of evidence: whatever these questions answer, in the same words as
// everywhere else.
var evidenceAnswers = []struct {
	name string
	say  func(v view, claim string) (spoken, error)
}{
	{"what is claimed, and what the floor answers", func(v view, claim string) (spoken, error) {
		return answered(claimQuestion, v, asked{"claim": claim})
	}},
	{"which units it can be about", func(v view, claim string) (spoken, error) {
		return answered(claimTraceQuestion, v, asked{"claim": claim})
	}},
	{"the carton", func(v view, claim string) (spoken, error) {
		carton, err := cartonOf(v, claim)
		if err != nil || carton == "" {
			return nil, err
		}
		return answered(contentsQuestion, v, asked{"carton": carton})
	}},
}

func answered[T spoken](q question[T], v view, say asked) (spoken, error) { return q.answer(v, say) }

// cartonOf gives the carton that a claim names, or that the unit it names lay in.
func cartonOf(v view, claim string) (string, error) {
	c, err := v.Claim(claim)
	if err != nil || c.Given.Carton != "" || c.Given.Mark == 0 {
		return c.Given.Carton, err
	}
	t, err := v.TraceMark(c.Given.Mark)
	if err != nil || len(t.Units) != 1 {
		return "", err
	}
	return t.Units[0].Carton, nil
}

// answersOf asks every question that has an answer. One that has none, because
// the claim names too little, is left out.
func answersOf(v view, claim string) (out []proof.EvidenceAnswer, err error) {
	for _, q := range evidenceAnswers {
		got, err := q.say(v, claim)
		if err != nil || got == nil {
			continue
		}
		var text strings.Builder
		if err := got.Text(&text); err != nil {
			return nil, err
		}
		value, err := json.Marshal(got)
		if err != nil {
			return nil, err
		}
		out = append(out, proof.EvidenceAnswer{Name: q.name, Text: text.String(), Value: value})
	}
	return out, nil
}

// evidenceRoute makes evidence in a running hub.
func (h *hub) evidenceRoute(floor door.Floor, now func() time.Time) door.Route {
	return door.Route{Pattern: "POST /claim/{claim}/evidence", About: "a file that proves what the log says about a claim; ?plans=1", May: door.Desk,
		Handle: func(w http.ResponseWriter, r *http.Request) {
			a := &auditor{h.log, h.books.Follower, now}
			how := evidenceHow{plans: r.URL.Query().Get("plans") != "", through: floor, now: now,
				read: func(ctx context.Context) error { return h.books.reach(ctx, h.writer.Head().Frame) }}
			file, err := h.heads.evidence(r.Context(), a, r.PathValue("claim"), how)
			if err != nil {
				writeUnknown(w, err)
				return
			}
			w.Header().Set("Content-Type", "application/x-ndjson")
			_, _ = w.Write(file) // the asker may have gone
		}}
}
