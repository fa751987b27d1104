package main

import (
	"bufio"
	"os"
	"path/filepath"
	"strings"
)

const someDrive = "/media/stick"

// howToEject names the place to let go of, since DRIVE may be a folder on it.
func howToEject(drive string) (how, command string) {
	return "press the eject sign beside it in the file manager, or type:", "umount " + quoted(mountPoint(drive))
}

// mountPoint is the longest mounted folder that the drive lies in.
func mountPoint(drive string) string {
	path, err := filepath.Abs(drive)
	if err != nil {
		return drive
	}
	if real, err := filepath.EvalSymlinks(path); err == nil {
		path = real
	}
	mounts, err := os.Open("/proc/self/mounts")
	if err != nil {
		return path
	}
	defer mounts.Close()
	best := ""
	for lines := bufio.NewScanner(mounts); lines.Scan(); {
		fields := strings.Fields(lines.Text())
		if len(fields) < 2 {
			continue
		}
		at := strings.NewReplacer(`\040`, " ", `\011`, "\t", `\012`, "\n", `\134`, `\`).Replace(fields[1])
		if (path == at || strings.HasPrefix(path, strings.TrimSuffix(at, "/")+"/")) && len(at) > len(best) {
			best = at
		}
	}
	if best == "" || best == "/" {
		return path
	}
	return best
}
