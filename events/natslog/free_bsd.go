//go:build darwin || dragonfly || freebsd

package natslog

import "golang.org/x/sys/unix"

// diskFree gives the bytes of dir's file system free to this user, and all of them.
func diskFree(dir string) (free, total uint64, err error) {
	var st unix.Statfs_t
	if err := unix.Statfs(dir, &st); err != nil {
		return 0, 0, err
	}
	return uint64(max(st.Bavail, 0)) * uint64(st.Bsize), uint64(st.Blocks) * uint64(st.Bsize), nil
}
