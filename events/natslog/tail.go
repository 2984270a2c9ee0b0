package natslog

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"packwright/events"
)

// tail is the last block as it was before the server read the store. Reading
// it after a crash, the server cuts a block off at the first record it does
// not like. That is right for a frame torn by the crash, which nobody was
// answered for; but the same cut takes everything behind a flipped bit, and
// leaves a log that looks whole and is shorter.
type tail struct {
	keep   string // where the block goes if frames were cut off
	path   string
	before []byte
	record []byte // stands once in every record of the floor's stream
}

const cutOffName = "cut-off.blk"

// readTail takes the last block of blockDir, which may not exist yet. It
// refuses a store that an earlier start has found cut: ErrCorrupt.
func readTail(dir, blockDir, subject string) (*tail, error) {
	t := &tail{keep: filepath.Join(dir, cutOffName)}
	if _, err := os.Lstat(t.keep); !errors.Is(err, fs.ErrNotExist) {
		return nil, errors.Join(t.damaged(), err)
	}
	last, err := lastBlock(blockDir)
	if errors.Is(err, fs.ErrNotExist) || last == 0 {
		return t, nil
	}
	t.path = blockPath(blockDir, last)
	t.record = append(binary.LittleEndian.AppendUint16(nil, uint16(len(subject))), subject...)
	if err == nil {
		t.before, err = os.ReadFile(t.path)
	}
	return t, err
}

// check compares the block with what the server has made of it. One record,
// or part of one, may be missing from its end; if more is, the block as it was
// is kept beside the store and the log is refused from then on.
func (t *tail) check() error {
	if t.path == "" {
		return nil
	}
	now, err := os.Stat(t.path)
	size := int64(0)
	switch {
	case err == nil:
		size = min(now.Size(), int64(len(t.before)))
	case !errors.Is(err, fs.ErrNotExist): // an empty block is removed
		return err
	}
	if bytes.Count(t.before[size:], t.record) <= 1 {
		return nil
	}
	return errors.Join(t.damaged(), os.WriteFile(t.keep, t.before, 0o600))
}

func (t *tail) damaged() error {
	return fmt.Errorf("%w: the store has cut off frames behind a damaged one; the block as it was is kept as %s; restore the log from a copy, or remove that file to go on without those frames",
		events.ErrCorrupt, t.keep)
}
