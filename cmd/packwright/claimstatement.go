package main

import (
	"fmt"

	"packwright/audit"
	"packwright/prep/label"
)

// claimStatement says what the floor answers to a claim, on one page for people
// who know nothing of it.
type claimStatement struct {
	Claim string `arg:"" help:"The claim: CL-02."`
	PDF   string `name:"pdf" placeholder:"FILE" help:"Paint it as PDF instead of writing it; - is standard output."`
	Paper string `enum:"a4,letter" default:"a4" help:"The paper: a4, letter (${default})."`
	atFlag
}

var statementQuestion = question[audit.Statement]{"/claim/{claim}/statement", "what the floor answers to a claim, for people elsewhere; ?at=",
	func(v view, say asked) (audit.Statement, error) { return v.StatementOf(say["claim"], v.root) }}

// Run shows the statement, or paints it.
func (c *claimStatement) Run(d *desk) error {
	s, err := ask(d, statementQuestion, asked{"claim": c.Claim, "at": c.At})
	if err != nil {
		return err
	}
	if c.PDF == "" {
		return d.say(s)
	}
	out := labelOut{DPI: 600, Format: "pdf", Out: c.PDF, Copies: 1}
	return out.paint(d, paperOf(s, map[string]label.Stock{"a4": label.A4, "letter": label.Letter}[c.Paper]))
}

// paperOf puts a statement onto paper. Its code is what verify takes as --head.
func paperOf(s audit.Statement, paper label.Stock) label.Paper {
	p := label.Paper{Title: "Statement to claim " + s.Claim.Claim, Under: fmt.Sprintf("%s, %s", s.Floor, s.At.Std().Format("2006-01-02")), Paper: paper}
	if g := s.Head.Signed; g != nil {
		p.Check = fmt.Sprintf("%d:%s", g.Frame, s.Head.Under)
	}
	for _, c := range s.Chapters() {
		chapter := label.PaperChapter{Heading: c.Heading}
		for _, r := range c.Rows {
			chapter.Rows = append(chapter.Rows, [2]string{r.Term, r.Says})
		}
		p.Chapters = append(p.Chapters, chapter)
	}
	return p
}
