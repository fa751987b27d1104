//go:build unix

package reach

import "syscall"

const (
	// nonblock keeps an open from waiting for the other end of a pipe.
	nonblock = syscall.O_NONBLOCK

	followsAbsolute = true
)
