//go:build linux || darwin

package drive

import (
	"errors"

	"golang.org/x/sys/unix"
)

func sameDisk(a, b string) bool {
	var x, y unix.Stat_t
	return unix.Stat(a, &x) == nil && unix.Stat(b, &y) == nil && x.Dev == y.Dev
}

// room is what may still be written. Some file systems say of themselves that they
// hold nothing at all, which means that they don't know.
func room(s *unix.Statfs_t) int64 {
	if s.Blocks == 0 {
		return -1
	}
	return int64(s.Bavail) * int64(s.Bsize)
}

// noFiles reports a file system that counts the files it can hold, and holds no more.
// FAT and exFAT don't count them, and tell of none.
func noFiles(s *unix.Statfs_t) bool { return s.Files > 0 && s.Ffree == 0 }

func isFull(err error) bool {
	return errors.Is(err, unix.ENOSPC) || errors.Is(err, unix.EDQUOT)
}

func isTooLong(err error) bool { return errors.Is(err, unix.EFBIG) }

func isReadOnly(err error) bool { return errors.Is(err, unix.EROFS) }

func isBadName(err error) bool {
	return errors.Is(err, unix.EINVAL) || errors.Is(err, unix.EILSEQ) || errors.Is(err, unix.ENAMETOOLONG)
}
