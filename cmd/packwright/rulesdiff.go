package main

import (
	"cmp"
	"fmt"
	"io"
	"strconv"
	"strings"

	"packwright/prep"
)

// rulesDiff lists the items whose recipe changes from one rulebook to another.
type rulesDiff struct {
	A     string `arg:"" help:"The one: a file, or a revision of the floor's log, r4."`
	B     string `arg:"" help:"The other, likewise."`
	Items string `placeholder:"FILE" help:"For this list of items instead of the floor's catalogue."`
}

// Help shows how it is used.
func (*rulesDiff) Help() string {
	return `Examples:
  packwright rules diff r4 r5
  packwright rules diff r5 my-rules.yaml
  packwright rules diff old.yaml new.yaml --items items.yaml`
}

// changes is the answer.
type changes struct {
	From    int           `json:"from_rev"`
	To      int           `json:"to_rev"`
	Items   int           `json:"items"`
	Changes []prep.Change `json:"changes"`
}

func (c *rulesDiff) Run(d *desk) error {
	s := &shelf{desk: d}
	defer s.Close()
	a, err := s.book(c.A)
	if err != nil {
		return err
	}
	b, err := s.book(c.B)
	if err != nil {
		return err
	}
	items, err := s.items(c.Items)
	if err != nil {
		return err
	}
	return d.say(changes{a.Rev, b.Rev, len(items), prep.Diff(a, b, items)})
}

// shelf finds rulebooks and items in files, and opens the log only when one is
// asked of it.
type shelf struct {
	*desk
	log *auditor
}

func (s *shelf) open() (*auditor, error) {
	if s.log == nil {
		a, err := s.readHere("packwright rules diff")
		if err != nil {
			return nil, err
		}
		s.log = a
	}
	return s.log, nil
}

// Close lets go of the log.
func (s *shelf) Close() error {
	if s.log == nil {
		return nil
	}
	return s.log.log.Close()
}

// book reads a file, or takes a revision from the log.
func (s *shelf) book(name string) (*prep.Rulebook, error) {
	rev, err := strconv.Atoi(strings.TrimPrefix(name, "r"))
	if err != nil {
		src, err := s.readFile(name)
		if err != nil {
			return nil, err
		}
		return prep.ParseRulebook(name, src)
	}
	a, err := s.open()
	if err != nil {
		return nil, err
	}
	var out *prep.Rulebook
	return out, a.look(s.ctx, "", func(v view) (err error) {
		out, err = v.Rulebook(rev)
		return unknown(err)
	})
}

// items reads a file, or takes the catalogue from the log.
func (s *shelf) items(name string) (items []prep.Item, err error) {
	if name != "" {
		list, _, err := readItems(s.desk, name)
		for _, it := range list {
			items = append(items, it.Item)
		}
		return items, err
	}
	a, err := s.open()
	if err != nil {
		return nil, err
	}
	return items, a.look(s.ctx, "", func(v view) error {
		items = v.Items()
		return nil
	})
}

// Text writes the changes, item by item.
func (c changes) Text(w io.Writer) error {
	fmt.Fprintf(w, "from rulebook %d to %d: %d of %d items change\n", c.From, c.To, len(c.Changes), c.Items)
	for _, x := range c.Changes {
		fmt.Fprintf(w, "%s: materials %s, then %s minor units\n", cmp.Or(x.Item, "?"), x.FromCost, x.ToCost)
		for _, l := range x.Lines {
			fmt.Fprintf(w, "  %s\n", l)
		}
	}
	return nil
}
