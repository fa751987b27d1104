package testfootage

import (
	"path/filepath"
	"strings"

	"pushcue/internal/reach"
)

// Inputs are the files that an ffmpeg command line reads, for ffmpeg.Run.Sources.
func Inputs(args []string) (all []*reach.Source) {
	for i, arg := range args {
		if path, ok := strings.CutPrefix(arg, "file:"); ok && i > 0 && args[i-1] == "-i" {
			all = append(all, reach.Named(path, filepath.Base(path)))
		}
	}
	return all
}
