package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"

	"packwright/events/natslog"
	"packwright/prep"
	"packwright/workflow"
	"packwright/workflow/engine"
)

// A floor's directory:
//
//	floor.json       what the floor is called, and where its key is, which is not here;
//	                 written last, when it is founded
//	policy.yaml      how the house works; the owner's to edit
//	store/           the log (events/natslog); locked while a process has it open
//	snapshot/        the newest snapshot of the floor, and the auditor's checkpoint
//	                 (books.checkpoint); both may be deleted, costs a slower start
//	benches/         what each bench has in hand, so that it outlives the hub's process
//	undecided.jsonl  commands that the program could not judge, for its developers
//	entry.json       who may come in by HTTP: PINs, sessions, benches (package entry)
//	backup.json      the last backup; restored.json what was put back last
//	hub.url          where the hub is, while one runs, the house's password included
//	bench.keys       public keys of the benches that reach the bus from elsewhere
//	bench.url        where benches on this machine connect, password included
type place string

func (p place) file(name string) string { return filepath.Join(string(p), name) }

func (p place) store() string     { return p.file("store") }
func (p place) snapshot() string  { return p.file("snapshot") }
func (p place) policy() string    { return p.file("policy.yaml") }
func (p place) books() string     { return p.file("snapshot/books.checkpoint") }
func (p place) benches() string   { return p.file("benches") }
func (p place) undecided() string { return p.file("undecided.jsonl") }
func (p place) hubURL() string    { return p.file("hub.url") }
func (p place) entry() string     { return p.file("entry.json") }
func (p place) benchKeys() string { return p.file("bench.keys") }
func (p place) benchURL() string  { return p.file("bench.url") }

// founded is what floor.json holds.
type founded struct {
	Format   int           `json:"format"`
	Floor    string        `json:"floor"`
	Currency prep.Currency `json:"currency"`
	NATS     *elsewhere    `json:"nats,omitempty"` // where the log is kept, when not in store/
	Key      string        `json:"key,omitempty"`  // public half of what signs the log's heads
	KeyFile  string        `json:"key_file,omitempty"`
}

// elsewhere is an existing NATS server with JetStream that keeps a floor's log.
type elsewhere struct {
	URL         string `json:"url"`
	NKeySeed    string `json:"nkey_seed,omitempty"`   // file of a key's seed
	Credentials string `json:"credentials,omitempty"` // file of a user's JWT and key
}

// keeping says where a floor's log is kept.
func (f founded) keeping(at place) natslog.Config {
	if n := f.NATS; n != nil {
		return natslog.Config{Floor: f.Floor, URL: n.URL, NKeySeed: n.NKeySeed, Credentials: n.Credentials}
	}
	return natslog.Config{Floor: f.Floor, Dir: at.store()}
}

// foundedFormat grows when the layout of the directory changes.
const foundedFormat = 1

// errNoFloor: the directory holds no floor.
var errNoFloor = errors.New("there is no floor")

// founded reads floor.json. Errors: errNoFloor.
func (p place) founded() (founded, error) {
	var f founded
	b, err := os.ReadFile(p.file("floor.json"))
	if errors.Is(err, fs.ErrNotExist) {
		return f, fmt.Errorf("%w in %s", errNoFloor, p)
	}
	if err != nil {
		return f, err
	}
	if err := json.Unmarshal(b, &f); err != nil || !floorName.MatchString(f.Floor) {
		return f, fmt.Errorf("%s cannot be read: %w", p.file("floor.json"), errors.Join(err, errNoFloor))
	}
	if f.Format > foundedFormat {
		return f, fmt.Errorf("%s was laid out by a newer program (format %d; this one knows %d)", p, f.Format, foundedFormat)
	}
	return f, nil
}

var floorName = regexp.MustCompile(`^[A-Za-z0-9_-]{1,32}$`)

// readPolicy reads the house's policy; a file that is missing means the defaults.
func (p place) readPolicy() (*workflow.Policy, error) {
	b, err := os.ReadFile(p.policy())
	if errors.Is(err, fs.ErrNotExist) {
		return workflow.DefaultPolicy(), nil
	}
	if err != nil {
		return nil, err
	}
	return workflow.ParsePolicy(p.policy(), b)
}

// writeWhole writes a file so that after a power cut either the old one or the
// new one is there. Only the owner of the process can read it.
func writeWhole(path string, b []byte) error {
	return engine.WriteWhole(path, func(w io.Writer) error {
		_, err := w.Write(b)
		return err
	})
}
