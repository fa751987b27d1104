//go:build unix

package ffmpeg

import (
	"fmt"
	"os"
	"syscall"
)

// fileNumber identifies a file among all others of the computer.
func fileNumber(_ string, info os.FileInfo) string {
	if s, ok := info.Sys().(*syscall.Stat_t); ok {
		return fmt.Sprintf("%d:%d", s.Dev, s.Ino)
	}
	return "?"
}

// ownedAlone reports whether a file is this user's and nobody else may write to it.
func ownedAlone(info os.FileInfo) bool {
	s, ok := info.Sys().(*syscall.Stat_t)
	return ok && int(s.Uid) == os.Geteuid() && info.Mode()&0o022 == 0
}

// loadingFailed reports whether an exit code is the one of a program whose libraries
// weren't found (127, as glibc's and musl's loaders end) or that can't be executed (126,
// POSIX's code for what a shell script calls).
func loadingFailed(code int) bool { return code == 126 || code == 127 }
