package natslog

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"packwright/events"
)

// founded is the note a store directory carries once its stream exists. With
// it, a stream that is missing is a loss and not a new floor.
type founded struct {
	Floor  string `json:"floor"`
	Stream string `json:"stream"`
}

const foundedName = "founded.json"

// readFounded gives the note, or nil if there is none yet. Error: ErrCorrupt if
// it can't be read or the directory is another floor's.
func readFounded(dir, floor string) (*founded, error) {
	raw, err := os.ReadFile(filepath.Join(dir, foundedName))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	var note founded
	if err == nil {
		err = json.Unmarshal(raw, &note)
	}
	if err != nil {
		return nil, fmt.Errorf("%w: %s: %w", events.ErrCorrupt, filepath.Join(dir, foundedName), err)
	}
	if note.Floor != floor {
		return nil, fmt.Errorf("%w: by %s it holds floor %q, not %q", events.ErrCorrupt, filepath.Join(dir, foundedName), note.Floor, floor)
	}
	return &note, nil
}

// writeFounded stores the note: temporary file, sync, rename, directory sync.
func writeFounded(dir string, note founded, sync func(dir string) error) error {
	raw, err := json.Marshal(note)
	if err != nil {
		return err
	}
	path := filepath.Join(dir, foundedName)
	if err := os.WriteFile(path+".tmp", append(raw, '\n'), 0o600); err != nil {
		return err
	}
	if err := syncFile(path + ".tmp"); err != nil {
		return err
	}
	if err := os.Rename(path+".tmp", path); err != nil {
		return err
	}
	return sync(dir)
}

// clearHalfFounded removes the directory of a stream that a crash has left half
// made, and that holds no frame. The server would take it up as it is and never
// complete its description: the stream would work, and be gone at the next start.
func clearHalfFounded(streamDir string) error {
	names, err := filepath.Glob(filepath.Join(streamDir, "msgs", "*.blk"))
	if err != nil {
		return err
	}
	for _, name := range names {
		if st, err := os.Stat(name); err != nil || st.Size() > 0 {
			return err
		}
	}
	return os.RemoveAll(streamDir)
}
