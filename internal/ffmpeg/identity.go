package ffmpeg

import (
	"fmt"
	"os"
	"path/filepath"
)

// watched are files besides the programs that a kept answer depends on. glibc's loader
// finds libraries by this one, which ldconfig(8) writes anew when a package brings
// another version of a library.
var watched = []string{"/etc/ld.so.cache"}

// loaderVariables have the system load other libraries into the same program.
var loaderVariables = []string{"LD_LIBRARY_PATH", "LD_PRELOAD", "DYLD_LIBRARY_PATH", "DYLD_INSERT_LIBRARIES"}

// identities describes the files that answer for these programs: the name that is run and
// the file that its links lead to, with the size, modification time and file number of
// each. An exchanged program shows, even one of the same size and time.
func identities(programs ...string) ([]string, error) {
	var all []string
	for _, path := range programs {
		real, err := filepath.EvalSymlinks(path)
		if err != nil {
			return nil, err
		}
		for _, p := range []string{path, real} {
			info, err := os.Lstat(p)
			if err != nil {
				return nil, err
			}
			all = append(all, describe(p, info))
		}
	}
	for _, path := range watched {
		if info, err := os.Stat(path); err == nil {
			all = append(all, describe(path, info))
		}
	}
	for _, name := range loaderVariables {
		if value := os.Getenv(name); value != "" {
			all = append(all, fmt.Sprintf("%s=%q", name, value))
		}
	}
	return all, nil
}

func describe(path string, info os.FileInfo) string {
	return fmt.Sprintf("%q: %d bytes, modified %d, file %s", path, info.Size(), info.ModTime().UnixNano(), fileNumber(path, info))
}
