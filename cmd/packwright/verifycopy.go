package main

import (
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"packwright/events/natslog"
	"packwright/prep"
)

// sparePart is the part of a copy's size that must stay free beside it.
const sparePart = 20

// copyTree copies the files below from, a block of the store each, and shows how
// far it is. It looks first whether there is room: a copy that fills the disk
// would stop a hub that writes to the same one. The copying is
// left to the system, which may let both share their blocks.
func (d *desk) copyTree(to, from string) error {
	var files []string
	var size int64
	err := filepath.WalkDir(from, func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		st, err := e.Info()
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(from, path)
		files, size = append(files, rel), size+st.Size()
		return err
	})
	if err != nil {
		return err
	}
	if err := roomFor(filepath.Dir(to), size); err != nil {
		return err
	}
	step, finish := d.progress(len(files), "copying "+inMegabytes(uint64(size)))
	defer finish()
	for _, name := range files {
		if err := d.ctx.Err(); err != nil {
			return err
		}
		if err := copyFile(filepath.Join(to, name), filepath.Join(from, name)); err != nil {
			return err
		}
		step()
	}
	return nil
}

// roomFor says whether a directory's disk has room for a copy. One that cannot
// be asked is tried.
func roomFor(dir string, size int64) error {
	free, _, err := natslog.Free(dir)
	if need := uint64(size + size/sparePart); err == nil && free < need {
		return prep.Input(fmt.Sprintf("the copy that is read takes %s, and %s has %s free", inMegabytes(need), dir, inMegabytes(free)),
			"set TMPDIR to a directory with room, or let a running hub give its frames with --url")
	}
	return nil
}

func copyFile(to, from string) (err error) {
	if err := os.MkdirAll(filepath.Dir(to), 0o700); err != nil {
		return err
	}
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := os.OpenFile(to, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	_, err = io.Copy(out, in)
	if closed := out.Close(); err == nil {
		err = closed
	}
	return err
}

func inMegabytes(n uint64) string { return fmt.Sprintf("%.1f MB", float64(n)/1e6) }
