//go:build unix && !linux

package ffmpeg

import (
	"os/exec"
	"syscall"
)

func tie(cmd *exec.Cmd) (*child, error) { return leashed(cmd) }

// urgency is our own niceness.
func urgency() (int, error) { return syscall.Getpriority(syscall.PRIO_PROCESS, 0) }
