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
	"packwright/workflow/engine"
)

// initCommand founds a floor. What was interrupted is finished by doing it again.
type initCommand struct {
	Floor    string `arg:"" help:"What the floor is called: letters, digits, hyphens."`
	Owner    string `required:"" placeholder:"BADGE" help:"The owner's badge: the first there is, and may do anything an owner may."`
	Currency string `default:"EUR" placeholder:"CODE" help:"ISO 4217 code of the one currency (${default})."`
	NATS     string `name:"nats" placeholder:"URL" help:"Keep the log on the NATS server there, with JetStream, instead of in the directory."`
	NKey     string `name:"nkey" type:"path" placeholder:"FILE" help:"The key seed to connect there with."`
	Creds    string `name:"creds" type:"path" placeholder:"FILE" help:"Or the credentials file."`
	Key      string `env:"PACKWRIGHT_KEY" type:"path" placeholder:"FILE" help:"Where to keep the key that signs the log's heads: never in the floor's directory (the user's configuration)."`
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
	if err := engine.MakeDir(d.Data); err != nil {
		return err
	}
	about := founded{Format: foundedFormat, Floor: c.Floor, Currency: prep.Currency{Code: c.Currency, Digits: c.Digits}}
	if c.NATS != "" {
		about.NATS = &elsewhere{URL: c.NATS, NKeySeed: c.NKey, Credentials: c.Creds}
	}
	if err := c.found(d, at, &about); err != nil {
		return err
	}
	return d.show(map[string]any{"floor": c.Floor, "owner": c.Owner, "data": d.Data, "currency": about.Currency, "key": about.Key, "key_file": about.KeyFile}, func(w io.Writer) {
		fmt.Fprintf(w, "Floor %s is founded in %s. Its owner is %s.\n", c.Floor, d.Data, c.Owner)
		fmt.Fprintf(w, "The heads of its log are signed with the key in %s: keep a copy apart from the log.\n", about.KeyFile)
		fmt.Fprintf(w, "Its public half, to be written down where others can read it:\n  %s\n", about.Key)
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

// found writes the policy, the key, the first frame, and last of all floor.json.
func (c *initCommand) found(d *desk, at place, about *founded) (err error) {
	if c.Key != "" {
		if err := apart(c.Key, at); err != nil {
			return err
		}
	}
	if _, err := os.Stat(at.policy()); errors.Is(err, fs.ErrNotExist) {
		if err := writeWhole(at.policy(), defaultPolicy); err != nil {
			return err
		}
	}
	h, err := openNamed(d.ctx, at, *about, d.log, opening{Program: "packwright init"})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, h.Close()) }()
	var key *headKey
	if h.writer.Head().Frame == 0 {
		key, err = c.firstFrame(d.ctx, h)
	} else {
		key, err = c.sameFloor(d.ctx, h)
	}
	if err != nil {
		return err
	}
	about.Key, about.KeyFile = key.Public, key.File
	b, err := json.Marshal(about)
	if err != nil {
		return err
	}
	return writeWhole(at.file("floor.json"), append(b, '\n'))
}

func (c *initCommand) firstFrame(ctx context.Context, h *hub) (*headKey, error) {
	key, err := makeKey(c.Floor, c.Key, h.place)
	if err != nil {
		return nil, err
	}
	epoch := newEpoch("log")
	data, err := json.Marshal(map[string]string{"floor": c.Floor, "owner": c.Owner, "currency": c.Currency, "epoch": epoch, "key": key.Public})
	if err != nil {
		return nil, err
	}
	a := door.Local{Writer: h.writer}.Ask(ctx, workflow.Command{ID: workflow.Board + "/" + epoch + "/1", Type: "found", Basis: events.Keyed, Data: data})
	return key, a.Err()
}

// sameFloor lets an interrupted init be finished only as it was begun.
func (c *initCommand) sameFloor(ctx context.Context, h *hub) (key *headKey, err error) {
	public := ""
	seen := h.writer.View(ctx, func(f *workflow.Floor) {
		public = f.Key
		if f.ID != c.Floor || f.Owner != c.Owner || f.Currency != c.Currency {
			err = prep.Input(fmt.Sprintf("%s was begun as %s with owner %s and currency %s", h.place, f.ID, f.Owner, f.Currency), "finish it with these, or choose another directory")
		}
	})
	if err := errors.Join(seen, err); err != nil {
		return nil, err
	}
	if public == "" {
		return nil, prep.Input(fmt.Sprintf("%s was begun without a key", h.place), "choose another directory")
	}
	file := c.Key
	if file == "" {
		if file, err = usualKeyFile(public); err != nil {
			return nil, err
		}
	}
	return founded{Floor: c.Floor, Key: public, KeyFile: file}.key()
}
