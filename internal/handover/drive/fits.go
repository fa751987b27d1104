package drive

import (
	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// Fits tells, before anything is written, whether files of these lengths in bytes can
// be put into a folder's file system: a fault where there is no room for them or one
// is longer than it holds.
func Fits(dir string, lengths ...int64) error {
	facts, err := factsOf(dir)
	if err != nil {
		return nil // writing will tell
	}
	var all, longest int64
	for _, n := range lengths {
		all += n
		longest = max(longest, n)
	}
	switch {
	case facts.longest > 0 && longest > facts.longest:
		return fault.Of(fault.Fault{File: dir, Text: words.Tell("a file of %s is too large for this drive, formatted as FAT32", megabytes(longest)),
			Hint: words.Tell("name a place on a drive formatted as exFAT or the computer's own")})
	case facts.free >= 0 && facts.free < all:
		return fault.Of(fault.Fault{File: dir, Text: words.Tell("there is room for %s, and %s are to be written", megabytes(facts.free), megabytes(all)),
			Hint: words.Tell("make room, or name another place with --to")})
	}
	return nil
}
