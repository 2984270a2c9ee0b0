package main

import (
	"context"
	_ "embed"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"regexp"
	"slices"
	"strings"

	"packwright/cmd/packwright/door"
	"packwright/events"
	"packwright/prep"
	"packwright/workflow"
)

// initCommand founds a floor. What was interrupted is finished by doing it again.
type initCommand struct {
	Floor    string `arg:"" help:"What the floor is called: letters, digits, hyphens."`
	Owner    string `required:"" placeholder:"BADGE" help:"The owner's badge: the first there is, and may do anything an owner may."`
	Currency string `default:"EUR" placeholder:"CODE" help:"ISO 4217 code of the one currency (${default})."`
	NATS     string `name:"nats" placeholder:"URL" help:"Keep the log on the NATS server there, with JetStream, instead of in the directory."`
	NKey     string `name:"nkey" type:"path" placeholder:"FILE" help:"The key seed to connect there with."`
	Creds    string `name:"creds" type:"path" placeholder:"FILE" help:"Or the credentials file."`
	Digits   int    `default:"2" help:"How many decimal digits its minor unit has (${default})."`
}

//go:embed default-policy.yaml
var defaultPolicy []byte

var (
	badgeWord    = regexp.MustCompile(`^[A-Za-z0-9_-]{1,24}$`)
	currencyCode = regexp.MustCompile(`^[A-Z]{3}$`)
)

func (c *initCommand) check() error {
	var errs []error
	for _, x := range []struct {
		ok       bool
		what, do string
	}{
		{floorName.MatchString(c.Floor), fmt.Sprintf("%q cannot name a floor", c.Floor), "use 1 to 32 letters, digits, hyphens"},
		{badgeWord.MatchString(c.Owner), fmt.Sprintf("%q cannot be a badge", c.Owner), "use 1 to 24 letters, digits, hyphens"},
		{currencyCode.MatchString(c.Currency), fmt.Sprintf("%q is no currency", c.Currency), "write three capital letters, such as EUR"},
		{c.Digits >= 0 && c.Digits <= 4, fmt.Sprintf("a minor unit of %d digits", c.Digits), "choose from 0 to 4; most currencies have 2"},
	} {
		if !x.ok {
			errs = append(errs, prep.Input(x.what, x.do))
		}
	}
	return errors.Join(errs...)
}

func (c *initCommand) Run(d *desk) error {
	if err := c.check(); err != nil {
		return err
	}
	at := place(d.Data)
	if err := at.vacant(); err != nil {
		return err
	}
	if err := os.MkdirAll(d.Data, 0o700); err != nil {
		return err
	}
	about := founded{Format: foundedFormat, Floor: c.Floor, Currency: prep.Currency{Code: c.Currency, Digits: c.Digits}}
	if c.NATS != "" {
		about.NATS = &elsewhere{URL: c.NATS, NKeySeed: c.NKey, Credentials: c.Creds}
	}
	if err := c.found(d, at, about); err != nil {
		return err
	}
	return d.show(map[string]any{"floor": c.Floor, "owner": c.Owner, "data": d.Data, "currency": about.Currency}, func(w io.Writer) {
		fmt.Fprintf(w, "Floor %s is founded in %s. Its owner is %s.\n", c.Floor, d.Data, c.Owner)
		fmt.Fprintf(w, "Look at %s, then run packwright serve.\n", at.policy())
	})
}

// vacant refuses a directory that holds a floor, or anything else than what an
// interrupted init leaves.
func (p place) vacant() error {
	switch about, err := p.founded(); {
	case err == nil:
		return prep.Input(fmt.Sprintf("%s holds the floor %s already", p, about.Floor), "choose another directory with --data")
	case !errors.Is(err, errNoFloor):
		return err
	}
	left, err := os.ReadDir(string(p))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	for _, e := range left {
		known := slices.Contains([]string{"store", "snapshot", "policy.yaml"}, e.Name())
		if !known && !strings.HasPrefix(e.Name(), "floor.json.") && !strings.HasPrefix(e.Name(), "policy.yaml.") {
			return prep.Input(fmt.Sprintf("%s is not empty: it holds %s", p, e.Name()), "choose an empty directory with --data")
		}
	}
	return nil
}

// found writes the policy, the first frame, and last of all floor.json.
func (c *initCommand) found(d *desk, at place, about founded) (err error) {
	if _, err := os.Stat(at.policy()); errors.Is(err, fs.ErrNotExist) {
		if err := writeWhole(at.policy(), defaultPolicy); err != nil {
			return err
		}
	}
	h, err := openNamed(d.ctx, at, about, d.log, opening{Program: "packwright init"})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, h.Close()) }()
	if h.writer.Head().Frame == 0 {
		if err := c.firstFrame(d.ctx, h); err != nil {
			return err
		}
	} else if err := c.sameFloor(d.ctx, h); err != nil {
		return err
	}
	b, err := json.Marshal(about)
	if err != nil {
		return err
	}
	return writeWhole(at.file("floor.json"), append(b, '\n'))
}

func (c *initCommand) firstFrame(ctx context.Context, h *hub) error {
	epoch := newEpoch("log")
	data, err := json.Marshal(map[string]string{"floor": c.Floor, "owner": c.Owner, "currency": c.Currency, "epoch": epoch})
	if err != nil {
		return err
	}
	a := door.Local{Writer: h.writer}.Ask(ctx, workflow.Command{ID: workflow.Board + "/" + epoch + "/1", Type: "found", Basis: events.Keyed, Data: data})
	return a.Err()
}

// sameFloor lets an interrupted init be finished only as it was begun.
func (c *initCommand) sameFloor(ctx context.Context, h *hub) (err error) {
	seen := h.writer.View(ctx, func(f *workflow.Floor) {
		if f.Owner != c.Owner || f.Currency != c.Currency {
			err = prep.Input(fmt.Sprintf("%s was begun with owner %s and currency %s", h.place, f.Owner, f.Currency), "finish it with these, or choose another directory")
		}
	})
	return errors.Join(seen, err)
}
