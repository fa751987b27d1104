//go:build unix

package ffmpeg

import (
	"os"
	"os/exec"
	"sync/atomic"
	"syscall"
)

// quiet stops ffmpeg from reading the terminal.
var quiet = []string{"-nostdin"}

// A child is a running process that doesn't outlive us.
type child struct {
	cmd   *exec.Cmd
	leash *os.File // the end of a pipe that only we hold; nil where the kernel sees to it
	far   *os.File
	over  atomic.Bool // waited for: its number may belong to another by now
}

func (c *child) started() error {
	if c.far != nil {
		return c.far.Close()
	}
	return nil
}

// ask lets the child close its files.
func (c *child) ask() error { return syscall.Kill(-c.cmd.Process.Pid, syscall.SIGINT) }

// kill ends the child and what it started, unless it was waited for.
func (c *child) kill() {
	if !c.over.Load() {
		syscall.Kill(-c.cmd.Process.Pid, syscall.SIGKILL)
	}
}

// lessUrgent is how much less urgent than we a child is that gives way.
const lessUrgent = 10

// giveWay lets all else go before the child. Where that is refused it runs as before.
func (c *child) giveWay() {
	if ours, err := urgency(); err == nil {
		_ = syscall.Setpriority(syscall.PRIO_PGRP, c.cmd.Process.Pid, min(ours+lessUrgent, 19))
	}
}

func (c *child) release() {
	if c.leash != nil {
		c.leash.WriteString("done\n")
		c.leash.Close()
	}
}

// leashed runs cmd under a small watcher for systems whose kernel doesn't end
// children with their parent: it reads a pipe whose other end only we hold, and
// kills the child when that end closes without a word, however we died.
func leashed(cmd *exec.Cmd) (*child, error) {
	far, leash, err := os.Pipe()
	if err != nil {
		return nil, err
	}
	const script = `(read -r word <&3 || kill -9 $$) >/dev/null 2>&1 & exec 3<&-; exec "$0" "$@"`
	cmd.Args = append([]string{"sh", "-c", script, cmd.Path}, cmd.Args[1:]...)
	cmd.Path = "/bin/sh"
	cmd.ExtraFiles = []*os.File{far}
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	return &child{cmd: cmd, leash: leash, far: far}, nil
}
