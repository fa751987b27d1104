//go:build unix

package runs

import (
	"io/fs"
	"os"
	"syscall"
)

// isOursAlone reports whether a file is this user's and nobody else may read or change it.
func isOursAlone(info fs.FileInfo) bool {
	s, ok := info.Sys().(*syscall.Stat_t)
	return ok && int(s.Uid) == os.Geteuid() && info.Mode().Perm()&0o077 == 0
}
