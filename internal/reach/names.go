package reach

import (
	"runtime"
	"slices"
	"strings"
)

// namesNoFile reports a name that Windows takes for something other than a file in a
// folder.
func namesNoFile(path string) bool { return runtime.GOOS == "windows" && strangeOnWindows(path) }

// devices are the names that Windows keeps for devices in every folder, whatever their
// ending (Microsoft, "Naming Files, Paths, and Namespaces").
var devices = []string{"CON", "PRN", "AUX", "NUL", "CONIN$", "CONOUT$"}

// strangeOnWindows reports a path that Windows doesn't take for a file: one that counts
// from a drive's current folder, an alternate stream of a file, or a device.
func strangeOnWindows(path string) bool {
	path = strings.ReplaceAll(path, "/", `\`)
	for _, device := range []string{`\\.\`, `\\?\`, `\??\`} {
		if strings.HasPrefix(path, device) {
			return true
		}
	}
	if len(path) > 1 && path[1] == ':' { // a drive
		if len(path) == 2 || path[2] != '\\' {
			return true
		}
		path = path[2:]
	}
	return slices.ContainsFunc(strings.Split(path, `\`), func(part string) bool {
		return strings.Contains(part, ":") || isDevice(part)
	})
}

func isDevice(part string) bool {
	stem, _, _ := strings.Cut(strings.ToUpper(part), ".")
	stem = strings.TrimRight(stem, " ")
	if slices.Contains(devices, stem) {
		return true
	}
	rest, isPort := strings.CutPrefix(stem, "COM")
	if !isPort {
		rest, isPort = strings.CutPrefix(stem, "LPT")
	}
	return isPort && slices.Contains([]string{"0", "1", "2", "3", "4", "5", "6", "7", "8", "9", "¹", "²", "³"}, rest)
}
