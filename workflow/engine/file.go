package engine

import (
	"bufio"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// WriteWhole writes a file beside path, syncs it, renames it and syncs the
// directory: after a power cut either the old file or the new one is there,
// whole. Only the owner of the process can read it.
func WriteWhole(path string, write func(io.Writer) error) error {
	tmp, err := os.CreateTemp(filepath.Dir(path), filepath.Base(path)+".*")
	if err != nil {
		return err
	}
	defer os.Remove(tmp.Name()) // fails once renamed, as it should
	buf := bufio.NewWriter(tmp)
	if err = errors.Join(write(buf), buf.Flush()); err == nil {
		err = tmp.Sync()
	}
	if err = errors.Join(err, tmp.Close()); err != nil {
		return err
	}
	if err := os.Rename(tmp.Name(), path); err != nil {
		return err
	}
	return syncDir(filepath.Dir(path))
}

// MakeDir makes a directory, and those above it that are missing, so that after a
// power cut they are there. Only the owner of the process can enter it.
func MakeDir(path string) error {
	path = filepath.Clean(path)
	_, err := os.Stat(path)
	if err == nil || !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	above := filepath.Dir(path)
	if above != path {
		if err := MakeDir(above); err != nil {
			return err
		}
	}
	if err := os.Mkdir(path, 0o700); err != nil && !errors.Is(err, fs.ErrExist) {
		return err
	}
	return syncDir(above)
}

func syncDir(path string) error {
	dir, err := os.Open(path)
	if err != nil {
		return err
	}
	return errors.Join(dir.Sync(), dir.Close())
}
