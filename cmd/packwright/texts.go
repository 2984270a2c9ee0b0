package main

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"packwright/workflow"
)

// textsCommand lists what the floor ever says no with.
type textsCommand struct {
	Check bool `help:"Only look for lines that a person at a bench could not read at a glance."`
}

// textWords is how many words a line may have.
const textWords = 12

func (c *textsCommand) Run(d *desk) error {
	texts := workflow.Texts()
	if c.Check {
		return checkTexts(d, texts)
	}
	return d.show(texts, func(w io.Writer) {
		for _, t := range texts {
			fmt.Fprintf(w, "%s\t%s\t%s\n", t.Code, t.What, t.Next)
		}
	})
}

func checkTexts(d *desk, texts []workflow.Text) error {
	var errs []error
	for _, t := range texts {
		for _, line := range []string{t.What, t.Next} {
			switch n := len(strings.Fields(line)); {
			case n == 0:
				errs = append(errs, fmt.Errorf("%s has an empty line", t.Code))
			case n > textWords:
				errs = append(errs, fmt.Errorf("%s says %q: %d words, at most %d", t.Code, line, n, textWords))
			}
		}
	}
	if len(errs) > 0 {
		return errors.Join(errs...)
	}
	return d.show(map[string]any{"texts": len(texts), "words": textWords}, func(w io.Writer) {
		fmt.Fprintf(w, "%d refusals, each of two lines of at most %d words.\n", len(texts), textWords)
	})
}
