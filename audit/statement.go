package audit

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"packwright/events"
	"packwright/events/proof"
)

// Statement is what the floor says to a claim, on one page that a stranger can
// read: what was said, which units it can mean, what was done to them, by which
// rule, from which roll, through which hands, what intake saw, how well it is
// shown, what nobody knows, and the head of the log that all this was read in.
// Hands are badges, never names.
type Statement struct {
	Claim   ClaimView     `json:"claim"`
	Floor   string        `json:"floor"`
	At      events.Time   `json:"at"`
	Said    string        `json:"said"`
	Sure    string        `json:"sure"` // how many units it can mean
	Why     string        `json:"why"`  // and why no fewer
	Trace   *Trace        `json:"trace,omitempty"`
	Done    []Known       `json:"done,omitempty"`
	Intake  []Known       `json:"intake,omitempty"`
	Kept    []Known       `json:"kept,omitempty"`  // what came to light since: notes, files, siblings looked at
	Short   *Shortage     `json:"short,omitempty"` // of a claim that so many were missing
	Unknown []string      `json:"unknown"`
	Head    StatementHead `json:"head"`
}

// Known is one thing that the log knows, under a word.
type Known struct {
	Term string `json:"term"`
	Says string `json:"says"`
}

// StatementHead is the state of the log that a statement was read in.
type StatementHead struct {
	Read   events.Seq `json:"read_up_to"`
	Size   int64      `json:"size"` // events
	Root   string     `json:"root,omitempty"`
	Signed *HeadView  `json:"signed,omitempty"`      // the newest head that was signed
	Under  string     `json:"signed_root,omitempty"` // its root, as answers write it
	Key    string     `json:"key,omitempty"`         // the floor's public one
}

// StatementOf answers a claim. Root is the hash over the log as far as it was
// read, as whoever reads the log knows it; it may be empty. Errors: *NoSuch for an
// unknown claim; where the claim names nothing that can be traced the statement
// says so.
func (f *Fold) StatementOf(claim, root string) (Statement, error) {
	c, err := f.Claim(claim)
	if err != nil {
		return Statement{}, err
	}
	s := Statement{Claim: c, Floor: f.founded.Floor, At: f.now, Said: saidBy(c), Unknown: []string{},
		Head: StatementHead{Read: f.last, Size: f.count, Root: root, Key: f.founded.Key}}
	if n := len(f.heads); n > 0 {
		s.Head.Signed, s.Head.Under = &f.heads[n-1], proof.Hex(f.heads[n-1].Root)
	}
	t, err := f.traceClaim(c)
	if err != nil {
		s.Sure, s.Why = "nothing here matches", err.Error()
		if c.Given.Mark == 0 && c.Given.Item == "" && c.Given.Carton == "" {
			s.Why = "the claim names no mark, item or carton"
		}
	} else {
		s.Trace = &t
		s.Sure, s.Why = t.sure(), t.Why
		f.tellTrace(&s, t)
	}
	if c.Kind == "short" && c.Given.Carton != "" && c.Given.Item != "" {
		if short, err := f.ShortEvidence(c.Given.Carton, c.Given.Item, c.Qty); err == nil {
			s.Short = &short
			s.Unknown = append(s.Unknown, short.Unknown...)
		}
	}
	s.keeps(c)
	return s, nil
}

// saidBy says what the other side named.
func saidBy(c ClaimView) string {
	what := fmt.Sprintf("%s, %s", c.Kind, plural(c.Qty, "unit"))
	for _, p := range [][2]string{{"of ", c.Given.Item}, {"in ", c.Given.Carton}} {
		if p[1] != "" {
			what += " " + p[0] + p[1]
		}
	}
	if c.Given.Mark > 0 {
		what += " with the mark " + c.Given.Mark.String()
	}
	return what
}

// sure says how many units an answer names, before any story.
func (t Trace) sure() string {
	switch t.Size {
	case 0:
		return "nothing here matches"
	case 1:
		return "one unit, exactly"
	}
	return fmt.Sprintf("%d units; the log cannot say which of them", t.Size)
}

// keeps adds what was kept about the claim itself.
func (s *Statement) keeps(c ClaimView) {
	for _, n := range c.Notes {
		says := n.Text
		if n.Digest != "" {
			says = strings.TrimPrefix(fmt.Sprintf("%s; file %s, SHA-256 %s", n.Text, firstOf(n.File, "kept elsewhere"), n.Digest), "; ")
		}
		s.Kept = append(s.Kept, Known{"evidence " + dayText(n.At) + ", " + n.By, says})
	}
	for _, k := range c.Checks {
		s.Kept = append(s.Kept, Known{"siblings " + dayText(k.At) + ", " + k.By, k.Says()})
	}
	if c.DupOf != "" {
		s.Kept = append(s.Kept, Known{"linked", "it repeats " + c.DupOf + ", and is answered there"})
	}
	if len(c.Again) > 0 {
		s.Kept = append(s.Kept, Known{"linked", "repeated by " + strings.Join(c.Again, ", ")})
	}
	if c.Finding != "" {
		s.Kept = append(s.Kept, Known{"decided " + dayText(c.DecidedAt), c.Finding + suffix(", ", c.Cause) + suffix("; sent: SHA-256 ", c.Statement)})
	}
}

func suffix(before, s string) string {
	if s == "" {
		return ""
	}
	return before + s
}

// Chapters gives the statement as headings with what stands under each, for text
// and for paper alike.
func (s Statement) Chapters() []Chapter {
	out := []Chapter{{"What is said", []Known{{"claim", s.Said}, {"opened", dayText(s.Claim.Opened)}}},
		{"Which units it can mean", []Known{{s.Sure, s.Why}}}}
	if s.Short != nil {
		out = append(out, s.Short.chapter())
	}
	add := func(heading string, list []Known) {
		if len(list) > 0 {
			out = append(out, Chapter{heading, list})
		}
	}
	add("What was done", s.Done)
	add("What intake saw", s.Intake)
	add("What came to light since", s.Kept)
	var not []Known
	for _, u := range s.Unknown {
		not = append(not, Known{"not known", u})
	}
	add("What nobody can say", not)
	return append(out, s.Head.chapter(s.Claim))
}

// Chapter is a heading and what stands under it.
type Chapter struct {
	Heading string
	Rows    []Known
}

func (s *Shortage) chapter() Chapter {
	c := Chapter{Heading: fmt.Sprintf("%d %s missing from %s? %s: %s", s.N, s.Item, s.Carton, s.Strength, s.Verdict)}
	for _, x := range s.Strands {
		c.Rows = append(c.Rows, Known{x.On + ", " + string(x.Strength), x.Says})
	}
	c.Rows = append(c.Rows, Known{"what would defeat this", s.Defeat})
	return c
}

func (h StatementHead) chapter(c ClaimView) Chapter {
	rows := []Known{{"log", fmt.Sprintf("read up to event %s, %d events", h.Read, h.Size)}}
	if h.Root != "" {
		rows = append(rows, Known{"root", h.Root})
	}
	if c.Query != "" {
		rows = append(rows, Known{"traced", fmt.Sprintf("%s: set of %d, at event %s, root %s", c.Query, c.Size, c.Head, c.Root)})
	}
	if g := h.Signed; g != nil {
		rows = append(rows, Known{"signed head", fmt.Sprintf("%s, frame %d, %d events, root %s", g.Log, g.Frame, g.Size, h.Under)}, Known{"signature", g.Signature})
	}
	if h.Key != "" {
		rows = append(rows, Known{"public key", h.Key})
	}
	rows = append(rows, Known{"to check it", "packwright claim evidence " + c.Claim + " writes a file; packwright verify FILE --key KEY checks it on a machine that has nothing else"})
	return Chapter{"What this rests on", rows}
}

// Text writes the statement.
func (s Statement) Text(w io.Writer) error {
	b := &strings.Builder{}
	fmt.Fprintf(b, "Statement of %s to claim %s, %s\n", s.Floor, s.Claim.Claim, dayText(s.At))
	for _, c := range s.Chapters() {
		fmt.Fprintf(b, "\n%s\n", c.Heading)
		for _, r := range c.Rows {
			fmt.Fprintf(b, "  %s: %s\n", r.Term, r.Says)
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// tellTrace tells what was done to the units that a trace names, what intake saw
// of their lots, and what nobody can know.
func (f *Fold) tellTrace(s *Statement, t Trace) {
	if l := t.Label; l != nil {
		b := &strings.Builder{}
		l.text(b)
		s.Done = append(s.Done, Known{"label", strings.Join(strings.Fields(b.String()), " ")})
	}
	var lots []string
	left := false
	lot := func(key string, at events.Stage) {
		if left = left || at == events.Dispatched; !slices.Contains(lots, key) {
			lots = append(lots, key)
		}
	}
	for _, u := range t.Units {
		s.Done = append(s.Done, u.known()...)
		if lot(u.Lot, u.Stage); !u.PrepKnown {
			s.Unknown = append(s.Unknown, fmt.Sprintf("which of %d cancelled marks %s bore before", len(u.Inherits), u.Mark))
		}
	}
	if len(t.Units) == 0 {
		for _, x := range t.Sets {
			s.Done = append(s.Done, x.known()...)
			lot(x.Lot, x.Stage)
		}
	}
	for _, p := range t.Parts {
		s.Done = append(s.Done, Known{"built from", fmt.Sprintf("%d of %s, lot %s%s", p.Q, p.Item, p.Lot, ofRuns(p.Runs))})
		lot(p.Lot, "")
	}
	for _, key := range lots {
		s.Intake = append(s.Intake, f.intakeKnown(key))
	}
	if t.Size > 1 {
		s.Unknown = append(s.Unknown, fmt.Sprintf("which of the %d it is", t.Size))
	}
	if left {
		s.Unknown = append(s.Unknown, "what happened to it after it left")
	}
	s.Unknown = append(s.Unknown, "how it looked when it came and when it left: the log keeps verdicts, no pictures")
}
