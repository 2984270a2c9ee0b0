package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"slices"

	"packwright/events/natslog"
	"packwright/prep"
)

// benchKeyCommand makes a key for a bench process that reaches the hub over the
// bus. The seed goes to the bench's machine; the floor keeps the public half, and
// the bus lets that key ask on that bench's lane alone.
type benchKeyCommand struct {
	Station string `arg:"" help:"Which bench."`
	Out     string `type:"path" placeholder:"FILE" help:"Where the seed is written; default the station's name with .seed. It must not be there yet."`
	Forget  bool   `help:"Take the bench's key away instead."`
}

func (c *benchKeyCommand) Run(d *desk) error {
	at := place(d.Data)
	if _, err := at.founded(); err != nil {
		return err
	}
	if !floorName.MatchString(c.Station) {
		return prep.Input(fmt.Sprintf("%q cannot be a station", c.Station), "use letters, digits and hyphens, as in ST-4")
	}
	keys, err := at.readBenchKeys()
	if err != nil {
		return err
	}
	said := fmt.Sprintf("%s has no key any more.", c.Station)
	if c.Forget {
		delete(keys, c.Station)
	} else if said, err = c.make(keys); err != nil {
		return err
	}
	b, err := json.MarshalIndent(keys, "", "  ")
	if err == nil {
		err = writeWhole(at.benchKeys(), append(b, '\n'))
	}
	if err != nil {
		return err
	}
	return d.show(map[string]any{"station": c.Station, "keys": slices.Sorted(maps.Keys(keys))}, func(w io.Writer) {
		fmt.Fprintf(w, "%s The hub takes it in at its next start.\n", said)
	})
}

// make writes the seed, and notes the public half.
func (c *benchKeyCommand) make(keys map[string]string) (said string, err error) {
	out := c.Out
	if out == "" {
		out = c.Station + ".seed"
	}
	seed, public, err := natslog.MakeKey()
	if err != nil {
		return "", err
	}
	keys[c.Station] = public
	f, err := os.OpenFile(out, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if errors.Is(err, fs.ErrExist) {
		return "", prep.Input(out+" is there already", "name another with --out; a key is never written over")
	}
	if err != nil {
		return "", err
	}
	_, err = f.Write(append(seed, '\n'))
	return fmt.Sprintf("The key of %s is in %s; carry it to that bench, and to nobody else.", c.Station, out), errors.Join(err, f.Sync(), f.Close())
}

// readBenchKeys gives the public keys of benches by station.
func (p place) readBenchKeys() (map[string]string, error) {
	keys := map[string]string{}
	b, err := os.ReadFile(p.benchKeys())
	if errors.Is(err, fs.ErrNotExist) {
		return keys, nil
	}
	if err == nil {
		err = json.Unmarshal(b, &keys)
	}
	if err != nil {
		return nil, fmt.Errorf("%s cannot be read: %w", p.benchKeys(), err)
	}
	return keys, nil
}
