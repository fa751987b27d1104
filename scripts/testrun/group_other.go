//go:build !unix

package main

import "os/exec"

func ownGroup(*exec.Cmd) {}

func killGroup(c *exec.Cmd) error { return c.Process.Kill() }
