package natslog

import (
	"errors"
	"os"

	"golang.org/x/sys/windows"
)

// lockFile takes an exclusive lock on f without waiting. The locked byte lies
// far behind the text, since Windows keeps others from reading a locked range.
func lockFile(f *os.File) error {
	far := windows.Overlapped{OffsetHigh: 1 << 30}
	const how = windows.LOCKFILE_EXCLUSIVE_LOCK | windows.LOCKFILE_FAIL_IMMEDIATELY
	err := windows.LockFileEx(windows.Handle(f.Fd()), how, 0, 1, 0, &far)
	if errors.Is(err, windows.ERROR_LOCK_VIOLATION) {
		return errHeld
	}
	return err
}

// syncDir does nothing: Windows has no such call, its file systems journal
// directory entries with the file.
func syncDir(string) error { return nil }

// noSpace tells whether err means a full disk or an exhausted quota.
func noSpace(err error) bool {
	return errors.Is(err, windows.ERROR_DISK_FULL) || errors.Is(err, windows.ERROR_HANDLE_DISK_FULL) ||
		errors.Is(err, windows.ERROR_DISK_QUOTA_EXCEEDED)
}

// diskFree gives the bytes of dir's volume free to this user, and all of them.
func diskFree(dir string) (free, total uint64, err error) {
	path, err := windows.UTF16PtrFromString(dir)
	if err != nil {
		return 0, 0, err
	}
	err = windows.GetDiskFreeSpaceEx(path, &free, &total, nil)
	return free, total, err
}
