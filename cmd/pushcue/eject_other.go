//go:build !linux && !darwin && !windows

package main

const someDrive = "/mnt/stick"

func howToEject(drive string) (how, command string) { return "type:", "umount " + quoted(drive) }
