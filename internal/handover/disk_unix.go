//go:build unix

package handover

import (
	"errors"

	"golang.org/x/sys/unix"
)

func isDiskFull(err error) bool {
	return errors.Is(err, unix.ENOSPC) || errors.Is(err, unix.EDQUOT)
}

func isReadOnly(err error) bool { return errors.Is(err, unix.EROFS) }

// freeBytes is the room left for this user on the disk that holds dir.
func freeBytes(dir string) (int64, error) {
	var s unix.Statfs_t
	if err := unix.Statfs(dir, &s); err != nil {
		return 0, err
	}
	return int64(s.Bavail) * int64(s.Bsize), nil
}

// isAlive reports whether a process of that number runs on this computer.
func isAlive(pid int) bool {
	err := unix.Kill(pid, 0)
	return err == nil || errors.Is(err, unix.EPERM)
}
