package main

import (
	"context"
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"golang.org/x/sys/unix"

	"packwright/cmd/packwright/door"
	"packwright/events/natslog"
	"packwright/workflow"
)

// ownDisk mounts a small disk of its own for a floor.
func ownDisk(t *testing.T, size string) string {
	t.Helper()
	dir := t.TempDir()
	if err := unix.Mount("tmpfs", dir, "tmpfs", 0, "size="+size); err != nil {
		t.Skipf("a small disk of its own needs the right to mount: %v", err)
	}
	t.Cleanup(func() { _ = unix.Unmount(dir, unix.MNT_DETACH) })
	return dir
}

// TestStoryFullDisk: on a disk that is nearly full nothing is taken, and the
// refusal says so. Had it been taken all the same, until the disk was full, the
// hub says that, takes no more, and all that was answered is there when there is
// room again; what was not answered is given once more under its id.
func TestStoryFullDisk(t *testing.T) {
	disk := ownDisk(t, "40m")
	dir := filepath.Join(disk, "floor")
	plenty := func() (uint64, uint64, error) { return math.MaxUint64 >> 1, math.MaxUint64 >> 1, nil }
	founded := filepath.Join(t.TempDir(), "floor")
	w := newWard(t, founded)
	must(t, os.CopyFS(dir, os.DirFS(founded)))
	w.dir = dir

	h := w.open(opening{})
	before := h.writer.Head()
	if a := w.pack(h, 1); a.Refusal == nil || a.Refusal.Code != "E-SYS-03" || h.writer.Head() != before {
		t.Errorf("on a disk of 40 MB: %+v", a)
	}
	must(t, h.Close())
	w.doctor(exitFailed, "WRONG disk: ", "no command is taken", "Make room")

	h = w.open(opening{Free: plenty, Store: func(c *natslog.Config) { c.Patience = 3 * time.Second }})
	must(t, ballast(disk, 200<<10))
	var a door.Answer
	for a = w.pack(h, 1); a.Outcome == workflow.Kept; a = w.pack(h, 1) {
	}
	if err := a.Err(); a.Answered() || !strings.Contains(err.Error(), natslog.ErrFull.Error()) {
		t.Fatalf("on the full disk: %+v, %v", a, err)
	}
	lost := workflow.Command{ID: a.ID, Type: "announce", Badge: "odile", Data: jsonBytes(t, fields{"lot": "L-again", "item": "TRY", "owner": "house", "qty": 3})}
	_ = h.Close()
	w.doctor(exitFailed, "WRONG d") // disk, or the directory that takes no file

	must(t, os.Remove(filepath.Join(disk, "ballast")))
	must(t, unix.Mount("tmpfs", disk, "tmpfs", unix.MS_REMOUNT, "size=200m"))
	h = w.open(opening{Free: plenty})
	a = door.Local{Writer: h.writer}.Ask(context.Background(), lost)
	if a.Outcome != workflow.Kept && a.Outcome != workflow.Already && (a.Refusal == nil || a.Refusal.Code != "E-SYS-04") { // stored after all, with its own lot
		t.Errorf("given again: %+v", a)
	}
	must(t, h.Close())
	roomy := filepath.Join(t.TempDir(), "floor")
	must(t, os.CopyFS(roomy, os.DirFS(dir)))
	w.dir = roomy
	w.allThere()
}

// ballast fills a disk up to so many bytes.
func ballast(disk string, leave int64) error {
	var st unix.Statfs_t
	if err := unix.Statfs(disk, &st); err != nil {
		return err
	}
	f, err := os.Create(filepath.Join(disk, "ballast"))
	if err != nil {
		return err
	}
	_, err = f.Write(make([]byte, int64(st.Bavail)*st.Frsize-leave))
	return errors.Join(err, f.Close())
}

// TestStoryReadOnlyDisk: after an error the system mounts a disk for reading
// only. No hub opens, and it says why; mounted for writing again, all is there.
func TestStoryReadOnlyDisk(t *testing.T) {
	disk := ownDisk(t, "40m")
	w := newWard(t, filepath.Join(t.TempDir(), "floor"))
	dir := filepath.Join(disk, "floor")
	must(t, os.CopyFS(dir, os.DirFS(w.dir)))
	w.dir = dir
	must(t, unix.Mount("tmpfs", disk, "tmpfs", unix.MS_REMOUNT|unix.MS_RDONLY, ""))
	w.refused(exitFailed, "read-only file system", "Mount that disk for writing")
	w.doctor(exitFailed, "WRONG directory: nothing can be written there", "read-only file system", "Mount the disk for writing")
	must(t, unix.Mount("tmpfs", disk, "tmpfs", unix.MS_REMOUNT, "size=40m"))
	back := filepath.Join(t.TempDir(), "floor")
	must(t, os.CopyFS(back, os.DirFS(dir)))
	w.dir = back
	w.allThere()
}
