package main

import (
	"fmt"
	"io"
	"strings"

	"packwright/audit"
	"packwright/prep"
)

// claimCommand groups what is done with the claims of the other side.
type claimCommand struct {
	Open     claimOpen     `cmd:"" help:"Write down what the other side says."`
	Trace    claimTrace    `cmd:"" help:"Find which units it can be about, and keep the answer with the head of the log it is true for."`
	Note     claimNote     `cmd:"" help:"Keep what came to light: words, or a file by its SHA-256."`
	Siblings claimSiblings `cmd:"" help:"Keep what was seen of the units that share something with it."`
	Link     claimLink     `cmd:"" help:"Say that it repeats an earlier claim; it ends there."`
	Decide   claimDecide   `cmd:"" help:"Give the finding."`
	Close    claimClose    `cmd:"" help:"End it."`
	// Statement is for people, Evidence for their machines.
	Statement claimStatement `cmd:"" help:"What the floor answers, on one page that a stranger can read."`
	Evidence  claimEvidence  `cmd:"" help:"Write a file that proves what the log says about it, for people elsewhere."`
	Show      claimShow      `cmd:"" help:"One claim as it stands."`
	List      claimList      `cmd:"" help:"All claims."`
}

// claimPage is one claim, for people.
type claimPage struct {
	audit.ClaimView
	Evidence *audit.Shortage `json:"evidence,omitempty"` // of "short" in a carton
}

// pageOf adds to a claim of a shortage what the floor can show against it.
func pageOf(v view, c audit.ClaimView) claimPage {
	page := claimPage{ClaimView: c}
	if c.Kind == "short" && c.Given.Carton != "" && c.Given.Item != "" {
		if s, err := v.ShortEvidence(c.Given.Carton, c.Given.Item, c.Qty); err == nil {
			page.Evidence = &s
		}
	}
	return page
}

// claimPages are all claims.
type claimPages struct {
	Claims []claimPage `json:"claims"`
}

var (
	claimQuestion = question[claimPage]{"/claim/{claim}", "one claim; ?at=", func(v view, say asked) (claimPage, error) {
		c, err := v.Claim(say["claim"])
		if err != nil {
			return claimPage{}, err
		}
		return pageOf(v, c), nil
	}}
	claimsQuestion = question[claimPages]{"/claims", "all claims; ?at=", func(v view, _ asked) (claimPages, error) {
		out := claimPages{[]claimPage{}}
		for _, c := range v.Claims() {
			out.Claims = append(out.Claims, claimPage{ClaimView: c})
		}
		return out, nil
	}}
)

// Text writes what was said, what was found, what is due.
func (c claimPage) Text(w io.Writer) error {
	b := &strings.Builder{}
	fmt.Fprintf(b, "%s  %s, %d units, %s\n", c.Claim, c.Kind, c.Qty, c.State)
	fmt.Fprintf(b, "  said: %s\n", given(c.Given.Mark, c.Given.Item, c.Given.Carton))
	if !c.Due.IsZero() {
		fmt.Fprintf(b, "  answer due %s\n", c.Due)
	}
	if c.Query != "" {
		fmt.Fprintf(b, "  traced by %s: set of %d%s, log read up to %s, root %.16s\n", c.Query, c.Size, named(c.Marks), c.Head, c.Root)
	}
	for _, n := range c.Notes {
		fmt.Fprintf(b, "  noted %s by %s: %s%s%s\n", n.At, n.By, n.Text, inWords(" file ", n.File), inWords(" SHA-256 ", n.Digest))
	}
	for _, k := range c.Checks {
		fmt.Fprintf(b, "  siblings %s by %s: %s\n", k.At, k.By, k.Says())
	}
	if c.DupOf != "" {
		fmt.Fprintf(b, "  repeats %s, which answers it\n", c.DupOf)
	}
	if len(c.Again) > 0 {
		fmt.Fprintf(b, "  repeated by %s\n", strings.Join(c.Again, ", "))
	}
	if c.Finding != "" {
		fmt.Fprintf(b, "  decided: %s%s\n", c.Finding, inWords(" for ", c.Cause))
	}
	if c.Evidence != nil {
		if err := c.Evidence.Text(b); err != nil {
			return err
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// Text writes a claim a line.
func (c claimPages) Text(w io.Writer) error {
	if len(c.Claims) == 0 {
		_, err := fmt.Fprintln(w, "no claims")
		return err
	}
	for _, v := range c.Claims {
		if _, err := fmt.Fprintf(w, "%s\t%s\t%d\t%s\t%s\t%s\n", v.Claim, v.State, v.Qty, v.Kind, given(v.Given.Mark, v.Given.Item, v.Given.Carton), v.Finding); err != nil {
			return err
		}
	}
	return nil
}

func given(m prep.Mark, item, carton string) string {
	var parts []string
	if m > 0 {
		parts = append(parts, m.String())
	}
	for _, s := range []string{item, carton} {
		if s != "" {
			parts = append(parts, s)
		}
	}
	if len(parts) == 0 {
		return "neither mark nor item nor carton"
	}
	return strings.Join(parts, " in ")
}

func named(m prep.Marks) string {
	if len(m) == 0 {
		return ""
	}
	return " (" + m.String() + ")"
}

func inWords(before, s string) string {
	if s == "" {
		return ""
	}
	return before + s
}

type claimShow struct {
	Claim string `arg:"" help:"The claim: CL-01."`
	atFlag
}

func (c *claimShow) Run(d *desk) error {
	return tell(d, claimQuestion, asked{"claim": c.Claim, "at": c.At})
}

type claimList struct{ atFlag }

func (c *claimList) Run(d *desk) error { return tell(d, claimsQuestion, asked{"at": c.At}) }
