package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"packwright/events"
	"packwright/workflow"
)

// A bench's reading machine outlives the hub's process: DIR/benches/ST-1.scans
// holds, a JSON object a line, the machine as it stood after each step. The last
// whole line counts.
//
// A line is on the disk before the command in it is given. So a hub that is killed
// between any two steps knows, when it is back, what the bench had in hand and
// which command may or may not have reached the log; asked again under its number,
// the floor says "already" or does it now. What follows an answer is written too,
// without waiting for the disk: lost, it is only worked out once more.

// inHand is one line of a bench's file.
type inHand struct {
	Bench    *workflow.Bench    `json:"bench"`
	Taken    typed              `json:"taken"`              // the scan that was taken last
	Said     workflow.Said      `json:"said"`               // and its answer
	Answered bool               `json:"answered"`           // false: its command waits for an answer
	Given    []workflow.Command `json:"given,omitempty"`    // what the floor kept of it, for the browser to keep too
	Outboxes []browserAt        `json:"outboxes,omitempty"` // of the browsers here, the newest last
	Late     *late              `json:"late,omitempty"`     // what came late and is not reported yet
	Report   *workflow.Command  `json:"report,omitempty"`   // the report of it, waiting for its answer
}

// browserAt is how far the scans of one browser were taken.
type browserAt struct {
	Session string `json:"session"`
	N       uint64 `json:"n"`
}

// late are the scans that were done while the hub was away.
type late struct {
	N      int         `json:"n"`
	Oldest events.Time `json:"oldest"`
	Newest events.Time `json:"newest"`
}

// outboxesKept is how many browsers' numbers a bench remembers.
const outboxesKept = 16

// taken says how far a browser's scans were taken.
func (k *inHand) taken(session string) uint64 {
	for _, o := range k.Outboxes {
		if o.Session == session {
			return o.N
		}
	}
	return 0
}

// take notes a scan as taken.
func (k *inHand) take(in typed) {
	k.Taken, k.Said, k.Answered, k.Given = in, workflow.Said{}, false, nil
	for i := range k.Outboxes {
		if k.Outboxes[i].Session == in.Session {
			k.Outboxes = append(k.Outboxes[:i], k.Outboxes[i+1:]...)
			break
		}
	}
	k.Outboxes = append(k.Outboxes, browserAt{in.Session, in.N})
	if over := len(k.Outboxes) - outboxesKept; over > 0 {
		k.Outboxes = k.Outboxes[over:]
	}
}

// benchFile is the file of one bench, open for writing at its end.
type benchFile struct {
	path string
	f    *os.File
	size int64
}

// benchFileMost is how long the file gets before it begins anew with its last line.
const benchFileMost = 256 << 10

// openBenchFile opens a station's file and gives its last whole line; nil when
// there is none.
func openBenchFile(dir, station string) (*benchFile, *inHand, error) {
	b := &benchFile{path: filepath.Join(dir, station+".scans")}
	raw, err := os.ReadFile(b.path)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, nil, fmt.Errorf("read what %s had in hand: %w", station, err)
	}
	last := lastWhole(raw)
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, nil, fmt.Errorf("keep what %s has in hand: %w", station, err)
	}
	if b.f, err = os.OpenFile(b.path, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o600); err != nil {
		return nil, nil, fmt.Errorf("keep what %s has in hand: %w", station, err)
	}
	b.size = int64(len(raw))
	if len(raw) > 0 && raw[len(raw)-1] != '\n' { // torn by a power cut
		n, err := b.f.Write([]byte{'\n'})
		b.size += int64(n)
		if err != nil {
			return nil, nil, errors.Join(err, b.f.Close())
		}
	}
	return b, last, nil
}

// lastWhole gives the last line that can be read.
func lastWhole(raw []byte) *inHand {
	lines := bytes.Split(raw, []byte{'\n'})
	for i := len(lines) - 1; i >= 0; i-- {
		var k inHand
		if len(lines[i]) > 0 && json.Unmarshal(lines[i], &k) == nil && k.Bench != nil {
			return &k
		}
	}
	return nil
}

// keep writes a line; with sync it is on the disk when keep returns.
func (b *benchFile) keep(k *inHand, sync bool) error {
	if b == nil {
		return nil
	}
	line, err := json.Marshal(k)
	if err != nil {
		return fmt.Errorf("write down a bench: %w", err)
	}
	line = append(line, '\n')
	if b.size+int64(len(line)) > benchFileMost {
		return b.anew(line)
	}
	n, err := b.f.Write(line)
	b.size += int64(n)
	if err == nil && sync {
		err = b.f.Sync()
	}
	if err != nil {
		return fmt.Errorf("write down a bench: %w", err)
	}
	return nil
}

// anew replaces the file by its last line.
func (b *benchFile) anew(line []byte) error {
	if err := writeWhole(b.path, line); err != nil {
		return fmt.Errorf("write down a bench: %w", err)
	}
	f, err := os.OpenFile(b.path, os.O_APPEND|os.O_WRONLY, 0o600)
	if err != nil {
		return fmt.Errorf("write down a bench: %w", err)
	}
	err = b.f.Close()
	b.f, b.size = f, int64(len(line))
	return err
}

// close lets go of the file.
func (b *benchFile) close() error {
	if b == nil {
		return nil
	}
	return b.f.Close()
}
