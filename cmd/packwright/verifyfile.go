package main

import (
	"fmt"
	"io"
	"strings"

	"packwright/events/proof"
	"packwright/prep"
)

// provenFile is evidence that was checked without the log.
type provenFile struct {
	OK      bool                   `json:"ok"`
	Log     string                 `json:"log"`
	About   string                 `json:"about"`
	Made    string                 `json:"made"`
	Key     string                 `json:"key"`
	Head    *notedHead             `json:"head"`
	Events  int                    `json:"events"`
	Earlier int                    `json:"earlier_heads"`
	Noted   *notedHead             `json:"noted_head,omitempty"` // was found in it
	Answers []proof.EvidenceAnswer `json:"answers"`
}

// file checks an evidence file with nothing but the floor's public key.
func (c *verifyCommand) file(d *desk, noted *notedHead) error {
	if c.Key == "" {
		return prep.Input("evidence is checked with the floor's public key", "give it with --key, as it stands on a sheet of the floor's days")
	}
	b, err := d.readFile(c.File)
	if err != nil {
		return err
	}
	v, err := proof.Check(b, c.Key)
	if err != nil {
		return fmt.Errorf("%s: %w", c.File, err)
	}
	if noted != nil {
		if err := noted.open(c.Key); err != nil {
			return err
		}
		if err := noted.within(v); err != nil {
			return err
		}
	}
	return d.say(provenFile{OK: true, Log: v.Log, About: v.About, Made: v.Made.String(), Key: c.Key, Events: len(v.Events), Earlier: len(v.Earlier), Noted: noted,
		Head: &notedHead{Frame: v.Head.Frame, Size: v.Head.Size, Root: proof.Hex(v.Head.Root)}, Answers: v.Answers})
}

// Text says what is proven, and then what the floor says.
func (p provenFile) Text(w io.Writer) error {
	b := &strings.Builder{}
	fmt.Fprintf(b, "OK: evidence about %s, made %s, sealed by %s\n", p.About, p.Made, p.Log)
	fmt.Fprintf(b, "key %s\n", p.Key)
	fmt.Fprintf(b, "all %d events are in the log whose head was signed: frame %d, %d events, root %s\n", p.Events, p.Head.Frame, p.Head.Size, p.Head.Root)
	if p.Earlier > 0 {
		fmt.Fprintf(b, "that log leads on from %d heads signed before\n", p.Earlier)
	}
	if p.Noted != nil {
		fmt.Fprintf(b, "the head noted at %s is one of them\n", p.Noted)
	}
	fmt.Fprintf(b, "what the floor says (its own words, sealed with them):\n")
	for _, a := range p.Answers {
		fmt.Fprintf(b, "\n%s\n%s", a.Name, a.Text)
	}
	_, err := io.WriteString(w, b.String())
	return err
}
