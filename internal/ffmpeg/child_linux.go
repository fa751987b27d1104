package ffmpeg

import (
	"os/exec"
	"syscall"
)

// tie makes the kernel kill the child when the thread that started it dies, and
// keeps a terminal's Ctrl-C away from it: we are the one who asks it to stop.
func tie(cmd *exec.Cmd) (*child, error) {
	cmd.SysProcAttr = &syscall.SysProcAttr{Pdeathsig: syscall.SIGKILL, Setpgid: true}
	return &child{cmd: cmd}, nil
}

// urgency is our own niceness. Linux tells 20 less it, so that no answer looks like a
// failure (getpriority(2)).
func urgency() (int, error) {
	told, err := syscall.Getpriority(syscall.PRIO_PROCESS, 0)
	return 20 - told, err
}
