package natslog

import "golang.org/x/sys/unix"

// diskFree gives the bytes of dir's file system free to this user, and all of them.
func diskFree(dir string) (free, total uint64, err error) {
	var st unix.Statfs_t
	if err := unix.Statfs(dir, &st); err != nil {
		return 0, 0, err
	}
	return st.Bavail * uint64(st.Frsize), st.Blocks * uint64(st.Frsize), nil
}
