package reach

import (
	"os"
	"path/filepath"
)

// Within reports whether path is the folder, or lies below it, once links are resolved.
// Folders are told by identity, so that upper and lower case, a second mount or any other
// name of the same folder makes no difference. What isn't there yet counts as the nearest
// folder above it that is.
func Within(folder, path string) bool {
	info, err := os.Stat(folder)
	if err != nil {
		return false
	}
	path, err = filepath.Abs(path)
	if err != nil {
		return false
	}
	real, err := filepath.EvalSymlinks(path)
	for err != nil {
		above := filepath.Dir(path)
		if above == path {
			return false
		}
		path = above
		real, err = filepath.EvalSymlinks(path)
	}
	for {
		if at, err := os.Stat(real); err == nil && os.SameFile(info, at) {
			return true
		}
		above := filepath.Dir(real)
		if above == real {
			return false
		}
		real = above
	}
}
