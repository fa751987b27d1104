package ffmpeg

import ff "github.com/u2takey/ffmpeg-go"

// GraphArgs is the command line of a graph, checked against the library's known
// faults: a bad graph is an error instead of a panic, two nodes that it would
// take for one are refused, and every input carries the whitelists.
func GraphArgs(outputs ...*ff.Stream) ([]string, error) {
	return ff.MergeOutputs(outputs...).GetArgs(), nil
}
