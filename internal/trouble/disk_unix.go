//go:build unix

package trouble

import (
	"errors"
	"path/filepath"

	"golang.org/x/sys/unix"
)

func IsDiskFull(err error) bool {
	return errors.Is(err, unix.ENOSPC) || errors.Is(err, unix.EDQUOT)
}

func isReadOnly(err error) bool { return errors.Is(err, unix.EROFS) }

// FreeBytes is the room left for this user on the disk that holds dir.
func FreeBytes(dir string) (int64, error) {
	var s unix.Statfs_t
	if err := unix.Statfs(dir, &s); err != nil {
		return 0, err
	}
	return int64(s.Bavail) * int64(s.Bsize), nil
}

// noMoreFiles reports whether the disk that is to hold path counts the files that it can
// hold, and holds no more of them.
var noMoreFiles = func(path string) bool {
	var s unix.Statfs_t
	err := unix.Statfs(path, &s)
	for dir := filepath.Dir(path); err != nil && dir != path; path, dir = dir, filepath.Dir(dir) {
		err = unix.Statfs(dir, &s)
	}
	return err == nil && s.Files > 0 && s.Ffree == 0 && s.Bavail > 0
}

// IsAlive reports whether a process of that number runs on this computer.
func IsAlive(pid int) bool {
	err := unix.Kill(pid, 0)
	return err == nil || errors.Is(err, unix.EPERM)
}
