//go:build unix

package review

import (
	"os"
	"path/filepath"
	"syscall"
)

// isOwnDevice tells a folder on which another drive stands.
func isOwnDevice(path string) bool {
	here, err := os.Stat(path)
	if err != nil || !here.IsDir() {
		return false
	}
	above, err := os.Stat(filepath.Dir(path))
	if err != nil {
		return false
	}
	a, okA := here.Sys().(*syscall.Stat_t)
	b, okB := above.Sys().(*syscall.Stat_t)
	return okA && okB && a.Dev != b.Dev
}
