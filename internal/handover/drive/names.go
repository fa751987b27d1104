package drive

import (
	"slices"
	"strings"
	"unicode/utf16"

	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// longestPart is the characters that one part of a path may have where a partial
// name must stand beside it: FAT32, exFAT and NTFS hold 255 UTF-16 units.
const longestPart = 255 - len(".0123456789.partial")

// checkName refuses a name that FAT32, exFAT or NTFS couldn't hold, on every drive
// alike, since the customer's computer may copy it on.
func checkName(name string) error {
	for part := range strings.SplitSeq(name, "/") {
		if !fitsAnywhere(part) {
			return fault.Of(fault.Fault{File: name, Text: words.Tell("not every drive can hold the name %s", words.Quoted(part)), Hint: words.Tell("run `pushcue make` again, which gives each file a name that fits everywhere")})
		}
	}
	return nil
}

func fitsAnywhere(part string) bool {
	return part != "" && part != "." && part != ".." &&
		!strings.ContainsAny(part, `/\:*?"<>|`) &&
		!strings.ContainsFunc(part, func(r rune) bool { return r < ' ' || r == 0x7f }) &&
		strings.TrimRight(part, " .") == part &&
		len(utf16.Encode([]rune(part))) <= longestPart &&
		!isDevice(part)
}

// isDevice reports names that Windows keeps for devices, whatever their ending.
func isDevice(part string) bool {
	stem, _, _ := strings.Cut(strings.ToUpper(part), ".")
	if slices.Contains([]string{"CON", "PRN", "AUX", "NUL"}, stem) {
		return true
	}
	return len(stem) == 4 && (strings.HasPrefix(stem, "COM") || strings.HasPrefix(stem, "LPT")) && stem[3] >= '0' && stem[3] <= '9'
}
