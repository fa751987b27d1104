package review

import (
	"os"
	"slices"
	"strconv"
	"strings"
)

// mounted are the folders that drives stand in. They are read off the system's own
// list: looking at a folder whose drive doesn't answer never ends.
func mounted() []string {
	text, err := os.ReadFile("/proc/self/mountinfo")
	if err != nil {
		return nil
	}
	return pluggedIn(string(text))
}

// pluggedIn are the places of a list in proc(5)'s form where a desktop puts what is
// plugged in, or a person what is mounted by hand.
func pluggedIn(mountinfo string) []string {
	var all []string
	for line := range strings.Lines(mountinfo) {
		fields := strings.Fields(line)
		if len(fields) < 5 {
			continue
		}
		at := unescaped(fields[4])
		for _, root := range []string{"/media/", "/run/media/", "/mnt/"} {
			if strings.HasPrefix(at, root) && !slices.Contains(all, at) {
				all = append(all, at)
			}
		}
	}
	return all
}

// unescaped undoes the octal escapes (\040 for a blank) of that form.
func unescaped(field string) string {
	var out []byte
	for i := 0; i < len(field); i++ {
		if field[i] == '\\' && i+4 <= len(field) {
			if b, err := strconv.ParseUint(field[i+1:i+4], 8, 8); err == nil {
				out = append(out, byte(b))
				i += 3
				continue
			}
		}
		out = append(out, field[i])
	}
	return string(out)
}
