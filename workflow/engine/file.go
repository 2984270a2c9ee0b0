package engine

import (
	"bufio"
	"errors"
	"io"
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
	dir, err := os.Open(filepath.Dir(path))
	if err != nil {
		return err
	}
	return errors.Join(dir.Sync(), dir.Close())
}
