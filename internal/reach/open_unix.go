//go:build unix

package reach

import (
	"os"
	"syscall"
)

const (
	// nonblock keeps an open from waiting for the other end of a pipe.
	nonblock = syscall.O_NONBLOCK

	followsAbsolute = true

	// folderItself refuses everything but a folder, a link to one too.
	folderItself = syscall.O_DIRECTORY | syscall.O_NOFOLLOW
)

// pinned has nothing to do: a child gets the open file itself.
func pinned(f *os.File) (*os.File, error) { return f, nil }
