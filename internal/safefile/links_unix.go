//go:build unix

package safefile

import (
	"io/fs"
	"syscall"
)

// withoutWaiting keeps the opening of a named pipe from waiting for its other end.
const withoutWaiting = syscall.O_NONBLOCK

// linkCount is how many names (hard links) a file has.
func linkCount(info fs.FileInfo) uint64 {
	if s, ok := info.Sys().(*syscall.Stat_t); ok {
		return uint64(s.Nlink)
	}
	return 1
}
