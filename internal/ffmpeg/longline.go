package ffmpeg

import (
	"fmt"
	"maps"
	"runtime"
	"slices"

	"pushcue/timeline/words"
)

const (
	// Windows takes a command line of 32,767 characters at most, as CreateProcessW's
	// documentation says; Linux takes 128 KiB an argument (MAX_ARG_STRLEN, execve(2)).
	longestLine = 32_767
	// An option longer than this goes into a file: a graph of hundreds of excerpts does.
	longestOption = 4_000
)

// spread keeps a run's command line short: what is long goes into files of its folder.
// A filter graph always can; other options since ffmpeg 7.0, where any option with a
// slash ahead of its name is read from a file, and the graph's own option is on its way
// out (ffmpeg-devel, 17 January 2024; 7.0 recalled and not looked up).
func (r *Run) spread(args []string, anyOption bool) []string {
	contents := maps.Clone(r.Contents)
	if contents == nil {
		contents = map[string][]byte{}
	}
	args = slices.Clone(args)
	for i := 0; i+1 < len(args); i++ {
		if len(args[i+1]) <= longestOption || len(args[i]) < 2 || args[i][0] != '-' {
			continue
		}
		name := fmt.Sprintf("option%d.txt", i)
		switch {
		case anyOption:
			args[i] = "-/" + args[i][1:]
		case args[i] == "-filter_complex":
			args[i] = "-filter_complex_script"
		default:
			continue
		}
		contents[name] = []byte(args[i+1])
		args[i+1] = name
	}
	r.Contents = contents
	return args
}

// tooLong refuses, in plain words, what Windows would refuse in its own.
func tooLong(program string, args []string) error {
	long := len(program) + 3
	for _, a := range args {
		long += len(a) + 3 // quotes and a space
	}
	if runtime.GOOS != "windows" || long <= longestLine {
		return nil
	}
	return &Error{
		Text: words.Tell("ffmpeg would have to be called with %d characters, and Windows takes %d: there are too many excerpts", long, longestLine),
		Hint: words.Tell("put ffmpeg 7.0 or newer beside pushcue, or leave the excerpts out with --skip clips"),
	}
}
