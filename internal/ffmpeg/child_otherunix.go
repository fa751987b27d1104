//go:build unix && !linux

package ffmpeg

import "os/exec"

func tie(cmd *exec.Cmd) (*child, error) { return leashed(cmd) }
