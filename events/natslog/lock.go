package natslog

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"packwright/events"
)

// errHeld is what the system's lock call says when another holder has it.
var errHeld = errors.New("held")

// lockDir takes the lock of a store directory and writes the holder's name
// into it. The lock is the open file's, not the text's: it is gone with the
// process, however it ends. Error: ErrLocked, naming the holder.
func lockDir(dir, program string) (*os.File, error) {
	path := filepath.Join(dir, "lock")
	f, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return nil, fmt.Errorf("lock the log: %w", err)
	}
	if err := lockFile(f); err != nil {
		defer f.Close()
		if errors.Is(err, errHeld) {
			return nil, fmt.Errorf("%w: %s holds %s", events.ErrLocked, holder(f), dir)
		}
		return nil, fmt.Errorf("lock %s: %w", path, err)
	}
	host, _ := os.Hostname()
	text := fmt.Sprintf("%s, pid %d on %s, since %s\n", program, os.Getpid(), host, time.Now().Format(time.RFC3339))
	if err := errors.Join(f.Truncate(0), writeAt(f, text)); err != nil {
		f.Close()
		return nil, fmt.Errorf("lock %s: %w", path, err)
	}
	return f, nil
}

func writeAt(f *os.File, text string) error {
	_, err := f.WriteAt([]byte(text), 0)
	return err
}

// holder reads who has the lock. Its text may be missing for the instant
// between locking and writing.
func holder(f *os.File) string {
	text, err := io.ReadAll(io.LimitReader(f, 400))
	if name := strings.TrimSpace(string(text)); err == nil && name != "" {
		return name
	}
	return "a process that has not given its name"
}
