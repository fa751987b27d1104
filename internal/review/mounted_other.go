//go:build !linux && !windows

package review

import "path/filepath"

// mounted are the folders that drives stand in.
func mounted() []string {
	all, _ := filepath.Glob("/Volumes/*")
	return all
}

// shelves are the folders that drives and network shares stand in, links resolved. The
// system's own disk is a link to the top there, and left out.
func shelves() []string {
	var all []string
	for _, at := range mounted() {
		if real, err := filepath.EvalSymlinks(at); err == nil && !isTop(real) {
			all = append(all, real)
		}
	}
	return all
}
