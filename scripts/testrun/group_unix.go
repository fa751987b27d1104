//go:build unix

package main

import (
	"os/exec"
	"syscall"
)

// ownGroup puts a command and all that it starts into one process group.
func ownGroup(c *exec.Cmd) { c.SysProcAttr = &syscall.SysProcAttr{Setpgid: true} }

// killGroup kills what still runs of a command's process group.
func killGroup(c *exec.Cmd) error { return syscall.Kill(-c.Process.Pid, syscall.SIGKILL) }
