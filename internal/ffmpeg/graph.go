package ffmpeg

import (
	"fmt"
	"slices"
	"strings"

	ff "github.com/u2takey/ffmpeg-go"
)

// GraphArgs is the command line of a graph, checked against the library's known
// faults: a bad graph is an error instead of a panic, two nodes that it would
// take for one are refused (it tells nodes apart by a sum that leaves out the
// filter's name), and every input carries the whitelists.
func GraphArgs(outputs ...*ff.Stream) (args []string, err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("the graph can't be built: %v", r)
		}
	}()
	if len(outputs) == 0 {
		return nil, fmt.Errorf("the graph can't be built: it has no output")
	}
	merged := outputs[0]
	if len(outputs) > 1 {
		merged = ff.MergeOutputs(outputs...)
	}
	if err := distinct(merged.Node); err != nil {
		return nil, err
	}
	args = merged.GetArgs()
	return args, guarded(args)
}

// distinct walks the graph and refuses two nodes with the same sum.
func distinct(from *ff.Node) error {
	seen := map[*ff.Node]bool{}
	bySum := map[int]*ff.Node{}
	queue := []*ff.Node{from}
	for len(queue) > 0 {
		n := queue[0]
		queue = queue[1:]
		if seen[n] {
			continue
		}
		seen[n] = true
		if other, ok := bySum[n.Hash()]; ok {
			return fmt.Errorf("the graph can't be built: %s and %s would be taken for one", n, other)
		}
		bySum[n.Hash()] = n
		for _, e := range n.GetInComingEdges() {
			queue = append(queue, e.UpStreamNode.(*ff.Node))
		}
	}
	return nil
}

// guarded makes sure that every input is a local file of an expected kind.
func guarded(args []string) error {
	options := args
	for i := 0; i+1 < len(args); i++ {
		if args[i] != "-i" {
			continue
		}
		before := options[:len(options)-len(args)+i]
		if !strings.HasPrefix(args[i+1], "file:") || !slices.Contains(before, "-protocol_whitelist") || !slices.Contains(before, "-format_whitelist") {
			return fmt.Errorf("the graph can't be built: %q is read without the whitelists", args[i+1])
		}
		options = args[i+2:]
	}
	return nil
}
